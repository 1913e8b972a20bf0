//! A program that is handed a file: its words as a shell would tell them apart, and never a shell.

/// Stands for the file's place.
const FILE: &str = "{file}";

/// A program and what it is told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileCommand {
    program: String,
    told: Vec<String>,
}

impl FileCommand {
    /// Reads a line: words by blanks, with the quotes of a POSIX shell; nothing else of a shell means anything. None if a
    /// quote is open, or nothing behind the program is or holds `{file}`.
    pub fn parse(line: &str) -> Option<Self> {
        let mut words = shlex::split(line)?.into_iter();
        let program = words.next().filter(|program| !program.is_empty() && !program.contains(FILE))?;
        let told: Vec<String> = words.collect();
        let names_file = told.iter().any(|word| word.contains(FILE));
        (names_file && !program.contains('\0') && !told.iter().any(|word| word.contains('\0')))
            .then_some(Self { program, told })
    }

    /// The program.
    pub fn program(&self) -> &str {
        &self.program
    }

    /// What it is told, the file put in its places. It is put into words that are told apart already, so that whatever the
    /// file is called it stays within its word.
    pub fn told(&self, file: &str) -> Vec<String> {
        self.told.iter().map(|word| word.replace(FILE, file)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_told_apart_before_the_file_is_put_in() {
        let command = FileCommand::parse("lp -d 'the labels' -o media=62x100mm {file}").unwrap();
        assert_eq!(command.program(), "lp");
        let nasty = "a b'; rm -rf \"$HOME\" {file} --o\n.pdf";
        assert_eq!(command.told(nasty), ["-d", "the labels", "-o", "media=62x100mm", nasty]);
        let command = FileCommand::parse("print --from={file} --copy={file}").unwrap();
        assert_eq!(command.told("x y"), ["--from=x y", "--copy=x y"]);
        for wrong in ["", "lp", "lp file", "{file}", "lp '{file}", "'' {file}"] {
            assert_eq!(FileCommand::parse(wrong), None, "{wrong}");
        }
        // No shell: what would be a pipe is a word.
        let command = FileCommand::parse("cat {file} | lp").unwrap();
        assert_eq!(command.told("f"), ["f", "|", "lp"]);
    }
}
