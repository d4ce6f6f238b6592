//! `cargo xtask reproduce FILE`: computes every finding of a study file again from the maps in it, and says whether answer and
//! picture come out byte by byte the same; where not, which numbers differ. Closes with 1 if one differs.
#![allow(clippy::print_stdout, clippy::print_stderr, clippy::disallowed_methods)] // a program for the command line

use limner::archive::{Reader, Restored};
use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::process::ExitCode;

fn main() -> ExitCode {
    let Some(path) = std::env::args().nth(1) else {
        eprintln!("cargo xtask reproduce FILE, where FILE is a saved study");
        return ExitCode::FAILURE;
    };
    match run(&path) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("{path}: {error}");
            ExitCode::FAILURE
        }
    }
}

fn run(path: &str) -> Result<bool, String> {
    let Restored { mut study, opened, .. } = read(path)?;
    for notice in opened.notices.iter().filter(|notice| notice.severity != "info") {
        println!("{}: {}", notice.file, notice.text);
    }
    let made = study.reproduce(&mut |_, _| {}).map_err(|fault| fault.message)?;
    for (place, one) in made.iter().enumerate() {
        println!("{}. {}\n   {}", place + 1, one.title, one.text);
        for difference in &one.differences {
            println!("   {}: kept {}, now {}", difference.name, difference.kept, difference.now);
        }
    }
    let same = made.iter().filter(|one| one.same).count();
    println!("{same} of {} findings came out identical.", made.len());
    Ok(same == made.len())
}

/// Part by part, as the page reads it: never more than one input at once.
fn read(path: &str) -> Result<Restored, String> {
    let slip = |error: std::io::Error| error.to_string();
    let mut file = File::open(path).map_err(slip)?;
    let mut reader = Reader::new(file.metadata().map_err(slip)?.len());
    while let Some((from, to)) = reader.wants() {
        let length = usize::try_from(to.saturating_sub(from)).map_err(|_| "too large for this machine")?;
        let mut bytes = vec![0; length];
        file.seek(SeekFrom::Start(from)).and_then(|_| file.read_exact(&mut bytes)).map_err(slip)?;
        reader.give(&bytes).map_err(|fault| fault.message)?;
    }
    reader.finish().map_err(|fault| fault.message)
}
