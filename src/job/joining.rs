//! Whether a mix can be a job's: what the book knows of it is held against what the job is of.

use super::event::Joined;
use super::{Job, Refusal};
use crate::catalogue::Role;
use crate::units::Stamp;

/// What is known of a mix that is to be a job's; what is not known is held against nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Joining<'a> {
    /// Which layer it was weighed as.
    pub role: Option<Role>,
    /// The colour's code it was weighed as.
    pub colour: Option<&'a str>,
    /// The colour's variant.
    pub variant: Option<&'a str>,
    /// When its cup was emptied.
    pub emptied: Option<Stamp>,
    /// The open job that has it, if it is another.
    pub of: Option<&'a str>,
}

impl Job {
    /// Whether that mix can be joined to this job as that layer, beside what [`Job::may`] asks.
    ///
    /// # Errors
    /// Why not. A mix of another layer never can; for the rest a reason can be given ([`Refusal::overruled`]).
    pub fn may_join(&self, joined: &Joined, mix: Joining<'_>) -> Result<(), Refusal> {
        if let Some(role) = mix.role.filter(|role| *role != joined.layer) {
            return Err(Refusal::OtherRole { role, layer: joined.layer });
        }
        if self.mix_reasons.contains_key(&joined.mix) {
            return Ok(());
        }
        let refused = |why: String| Err(Refusal::OtherMix { mix: joined.mix, why });
        if let Some(job) = mix.of.filter(|job| *job != self.name) {
            return refused(format!("that mix is of job {job}, which is open"));
        }
        let is_emptied = mix.emptied.filter(|at| *at < self.opened);
        if is_emptied.is_some() {
            return refused("the cup of that mix was emptied before this job was opened".to_owned());
        }
        let code = mix.colour.unwrap_or(self.colour.as_str());
        let variant = mix.variant.unwrap_or(&self.variant);
        // A clear has no colour, whatever it was weighed with.
        if joined.layer != Role::Clear && (code, variant) != (self.colour.as_str(), self.variant.as_str()) {
            return refused(format!(
                "that mix is {code} ({variant}), and the job is {} ({})",
                self.colour, self.variant
            ));
        }
        Ok(())
    }
}
