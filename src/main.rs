//! The program: parse the command line, open the house, run.

fn main() {}
