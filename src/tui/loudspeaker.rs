//! Sounds made by a command: started and left alone, one at a time.

use std::process::{Child, Command, Stdio};

/// What makes the sound now, if anything does.
#[derive(Debug, Default)]
pub(super) struct Loudspeaker {
    sounding: Option<Child>,
}

impl Loudspeaker {
    /// Runs a command unless the one before is still at it. It has no terminal to write on, and what becomes of it is
    /// only logged: a sound that fails must not stop a pour.
    pub(super) fn run(&mut self, words: &[String]) {
        let Some((program, told)) = words.split_first() else { return };
        if let Some(child) = &mut self.sounding {
            match child.try_wait() {
                Ok(None) => return,
                Ok(Some(_)) | Err(_) => self.sounding = None,
            }
        }
        let mut command = Command::new(program);
        command.args(told).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        #[cfg(unix)]
        // A key that interrupts this program is none of its business.
        std::os::unix::process::CommandExt::process_group(&mut command, 0);
        match command.spawn() {
            Ok(child) => self.sounding = Some(child),
            Err(error) => tracing::warn!(%error, program, "the command for a sound cannot be run"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(all: &[&str]) -> Vec<String> {
        all.iter().map(|word| (*word).to_owned()).collect()
    }

    #[cfg(unix)]
    #[test]
    fn one_at_a_time_and_one_that_is_missing_harms_nothing() {
        let mut loudspeaker = Loudspeaker::default();
        loudspeaker.run(&[]);
        loudspeaker.run(&words(&["/nowhere/to/be/found"]));
        assert!(loudspeaker.sounding.is_none());
        // `cat` without an input of its own ends at once; `sleep` goes on.
        loudspeaker.run(&words(&["cat"]));
        assert!(loudspeaker.sounding.as_mut().unwrap().wait().unwrap().success());
        loudspeaker.run(&words(&["sleep", "60"]));
        let first = loudspeaker.sounding.as_ref().unwrap().id();
        loudspeaker.run(&words(&["sleep", "60"]));
        let mut child = loudspeaker.sounding.take().unwrap();
        assert_eq!(child.id(), first);
        child.kill().unwrap();
        child.wait().unwrap();
    }
}
