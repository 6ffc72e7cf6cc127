//! The command `mastwright`.
fn main() {}
