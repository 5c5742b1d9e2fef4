//! What the command line takes. Results go to standard output, everything else to standard error. [`EXIT_CODES`] says how
//! a command ends.

mod access_key;
mod backup;
mod check;
mod data;
mod format;
mod job;
mod papers;
mod serve;
mod tokens;
mod verify;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
use tallyrule::api::Contract;
use tallyrule::config::{DataArgs, ServeArgs, Settings, effective};

const NEXT: &str = "\
Tallyrule prices the installation of ceiling-mounted split cooling units in wine cellars.

What to do next:
  tallyrule price seed-data/jobs/pinfold-basement.json   price a job of the demonstration
  tallyrule serve --demo                                 serve it over REST, with a page at /docs
  tallyrule check seed-data/rulebook.toml                check the rules after an edit
  tallyrule --help                                       everything else
";

/// How a command ends, for scripts; `docs/operations.md` says it for each.
const EXIT_CODES: &str = "\
Exit codes of every command:
  0  done; of check: no errors, and every worked example comes out; of verify: nothing differs
  1  a fault, told on standard error; of check also a rulebook that could not be checked as a whole, for want of a
     catalogue
  2  the command line or a setting cannot be read, or no command is given
";

#[derive(Parser)]
#[command(name = "tallyrule", version, about, after_help = EXIT_CODES, disable_help_subcommand = true)]
struct Line {
    /// File of settings (TOML); TALLYRULE_CONFIG names one, too
    #[arg(long, global = true, value_name = "FILE")]
    config: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Subcommand)]
enum Command {
    /// Serve the REST API
    Serve {
        #[command(flatten)]
        serve: ServeArgs,
        #[command(flatten)]
        tokens: tokens::TokenArgs,
    },
    /// Print the settings with which `serve` would run, where each comes from, and nothing secret
    Config {
        #[command(flatten)]
        serve: ServeArgs,
        #[command(flatten)]
        tokens: tokens::TokenArgs,
    },
    /// Price a job: the bill, labour hours, totals, schedule and cautions
    Price {
        #[command(flatten)]
        job: job::JobArgs,
        /// Say of each line how it came about
        #[arg(long)]
        explain: bool,
        #[command(flatten)]
        papers: papers::PaperArgs,
    },
    /// Size a job: load, unit class, line set, drain, wiring and the rest of the physics
    Size {
        #[command(flatten)]
        job: job::JobArgs,
    },
    /// Check a rulebook and tell every finding with its place in the file
    Check {
        /// The rulebook
        rulebook: PathBuf,
        /// Folder of seed data whose catalogue it refers to, instead of a database
        #[arg(long, value_name = "DIR", conflicts_with_all = ["data", "database_url"])]
        seed: Option<PathBuf>,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Bring the text of a rulebook into its canonical order and spelling; comments stay where they were
    Format {
        /// The rulebook
        rulebook: PathBuf,
        /// Write the file instead of printing the text
        #[arg(long)]
        write: bool,
        /// Put the jobs of the worked examples into the text, so that it needs no files beside it
        #[arg(long)]
        with_jobs: bool,
    },
    /// Load a folder of seed data into an empty database
    Seed {
        /// The folder
        dir: PathBuf,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Compute every issued revision and the chain of the audit again and tell every place that differs
    Verify {
        #[command(flatten)]
        data: DataArgs,
    },
    /// Write everything into one file, while others go on working
    Backup {
        /// The file, which must not be there yet
        file: PathBuf,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Put such a file into an empty place: a new data file, or an empty database of either kind
    Restore {
        /// The file
        file: PathBuf,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Make, list and revoke access keys
    #[command(subcommand)]
    AccessKey(access_key::AccessKeyCommand),
    /// Print the contract of the REST API (OpenAPI 3.1)
    Openapi,
}

/// The command line with what the environment and a file of settings say, and the settings as they count in the end.
/// A command line that cannot be read ends here.
fn read() -> Result<(Line, String), Told> {
    let plain = Line::command();
    let Some(serve) = plain.find_subcommand("serve") else {
        return Err(Told("there is no command to serve".to_owned()));
    };
    let early = plain.clone().ignore_errors(true).try_get_matches();
    let file = early
        .ok()
        .and_then(|matches| matches.get_one::<PathBuf>("config").cloned());
    let settings = Settings::gather(file, serve).map_err(|faults| {
        let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
        Told(lines.join("\n"))
    })?;
    let mut matches = settings.applied_to(plain.clone(), false).get_matches();
    if settings.means_data_file(&matches) {
        matches = settings.applied_to(plain.clone(), true).get_matches();
    }
    let shown = matches
        .subcommand_matches("config")
        .map(|matches| effective(serve, matches, &settings));
    if matches
        .subcommand_name()
        .is_some_and(|name| ["serve", "config"].contains(&name))
    {
        for name in &settings.strange {
            eprintln!("{name} in the environment is no setting");
        }
    }
    let line = Line::from_arg_matches(&matches)?;
    Ok((line, shown.unwrap_or_default()))
}

/// Runs the command that was given.
pub fn run() -> ExitCode {
    let (line, settings) = match read() {
        Ok(read) => read,
        Err(Told(text)) => {
            eprintln!("{text}");
            return ExitCode::from(2);
        }
    };
    let answer = match line.command {
        None => {
            eprint!("{NEXT}");
            return ExitCode::from(2);
        }
        Some(Command::Serve { serve, tokens }) => serve::serve(&serve, &tokens),
        Some(Command::Config { .. }) => Ok(settings),
        Some(Command::Price { job, explain, papers }) => job::price(&job, explain, &papers),
        Some(Command::Size { job }) => job::size(&job),
        Some(Command::Check { rulebook, seed, data }) => check::check(&rulebook, seed.as_deref(), &data),
        Some(Command::Format {
            rulebook,
            write,
            with_jobs,
        }) => format::format(&rulebook, write, with_jobs),
        Some(Command::Seed { dir, data }) => data::seed(&dir, &data),
        Some(Command::Verify { data }) => verify::verify(&data),
        Some(Command::Backup { file, data }) => backup::back_up(&file, &data),
        Some(Command::Restore { file, data }) => backup::restore(&file, &data),
        Some(Command::AccessKey(command)) => access_key::run(command),
        Some(Command::Openapi) => openapi(),
    };
    match answer {
        Ok(text) => print(&text),
        Err(Told(text)) => {
            eprintln!("{}", text.trim_end());
            ExitCode::FAILURE
        }
    }
}

/// A fault as a person reads it.
struct Told(String);

impl<E: std::error::Error> From<E> for Told {
    fn from(fault: E) -> Self {
        Self(fault.to_string())
    }
}

fn print(text: &str) -> ExitCode {
    use std::io::Write;
    // A reader that went away, as `head` does, is no fault of ours to tell.
    let _ = std::io::stdout().lock().write_all(text.as_bytes());
    ExitCode::SUCCESS
}

fn openapi() -> Result<String, Told> {
    Ok(Contract::collect()?.text())
}
