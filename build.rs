//! Builds again when a migration changes: they are compiled into the binary.

fn main() {
    println!("cargo::rerun-if-changed=migrations");
}
