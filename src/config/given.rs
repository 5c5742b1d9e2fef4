//! What is said where, put together: flags, then the environment, then the file, then what is usual.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::builder::Resettable;
use clap::parser::ValueSource;
use clap::{Arg, ArgMatches, Command};
use estimate::quantity::nearest;
use thiserror::Error;

use super::file;

/// What every variable of ours in the environment begins with.
const PREFIX: &str = "TALLYRULE_";
/// The variable that names the file of settings.
const FILE: &str = "TALLYRULE_CONFIG";

/// The setting that names a database.
const DATABASE: &str = "database_url";

/// A setting that was said, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Given {
    /// Its name, as it stands in a file.
    pub name: String,
    /// Its value; a list has several.
    pub values: Vec<String>,
    /// Where it was said.
    pub place: String,
}

/// A setting that cannot stand.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{place}: {message}")]
pub struct SettingFault {
    /// Where it was said.
    pub place: String,
    /// What is wrong.
    pub message: String,
}

/// What the file and the environment say.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Settings {
    /// What the file says.
    pub file: Vec<Given>,
    /// Variables of the environment that look like settings and are none.
    pub strange: Vec<String>,
}

/// The settings: the arguments that the environment may say, too.
pub(super) fn settings(command: &Command) -> impl Iterator<Item = &Arg> {
    command.get_arguments().filter(|arg| arg.get_env().is_some())
}

impl Settings {
    /// Reads the file that `line` or the environment names, and holds it and the environment against the settings of
    /// `command`.
    ///
    /// # Errors
    /// Every setting that is unknown or wrong.
    pub fn gather(file: Option<PathBuf>, command: &Command) -> Result<Self, Vec<SettingFault>> {
        let file = file.or_else(|| {
            std::env::var_os(FILE)
                .filter(|name| !name.is_empty())
                .map(PathBuf::from)
        });
        let given = file.map_or(Ok(Vec::new()), |path| file::read(&path))?;
        let mut faults: Vec<SettingFault> = given.iter().filter_map(|given| fault(given, command)).collect();
        let mut strange = Vec::new();
        for (name, value) in std::env::vars_os() {
            let Some(name) = name
                .to_str()
                .filter(|name| name.starts_with(PREFIX) && *name != FILE)
            else {
                continue;
            };
            let Some(arg) = settings(command).find(|arg| arg.get_env() == Some(name.as_ref())) else {
                strange.push(name.to_owned());
                continue;
            };
            faults.extend(wrong(arg, value, name));
        }
        if faults.is_empty() {
            Ok(Self { file: given, strange })
        } else {
            Err(faults)
        }
    }

    /// The command with what the file says where it said what is usual. Where `to_a_file`, a database is only what the
    /// command line names.
    #[must_use]
    pub fn applied_to(&self, command: Command, to_a_file: bool) -> Command {
        let command = command.mut_args(|arg| {
            let Some(variable) = arg.get_env().map(ToOwned::to_owned) else {
                return arg;
            };
            if to_a_file && arg.get_id() == DATABASE {
                return arg.env(Resettable::Reset);
            }
            // A variable that is there and empty says nothing, as one that a container passes on unset.
            let arg = if std::env::var_os(&variable).is_some_and(|value| value.is_empty()) {
                arg.env(Resettable::Reset)
            } else {
                arg
            };
            match self.file.iter().find(|given| given.name == arg.get_id().as_str()) {
                Some(given) => arg.default_values(given.values.clone()),
                None => arg,
            }
        });
        command.mut_subcommands(|command| self.applied_to(command, to_a_file))
    }
}

/// What is wrong with a setting of a file.
fn fault(given: &Given, command: &Command) -> Option<SettingFault> {
    let Some(arg) = settings(command).find(|arg| arg.get_id().as_str() == given.name) else {
        let names = settings(command).map(|arg| arg.get_id().as_str());
        let hint = nearest::hint(&given.name, names);
        return Some(SettingFault {
            place: given.place.clone(),
            message: format!("there is no setting {}{hint}", given.name),
        });
    };
    let many = given.values.len() != 1 && arg.get_value_delimiter().is_none();
    if many {
        return Some(SettingFault {
            place: given.place.clone(),
            message: format!("{}: one value is asked for", given.name),
        });
    }
    let place = format!("{}: {}", given.place, given.name);
    given
        .values
        .iter()
        .find_map(|value| wrong(arg, OsString::from(value), &place))
}

/// What is wrong with a value, as the flag's own reader tells it.
fn wrong(arg: &Arg, value: OsString, place: &str) -> Option<SettingFault> {
    if value.is_empty() {
        return None;
    }
    let mut word = OsString::from(format!("--{}=", arg.get_long().unwrap_or_default()));
    word.push(value);
    let alone = Command::new("setting").no_binary_name(true).arg(arg.clone());
    let fault = alone.try_get_matches_from([word]).err()?;
    let message = std::error::Error::source(&fault).map_or_else(
        || {
            let words: Vec<String> = arg
                .get_possible_values()
                .iter()
                .map(|value| value.get_name().to_owned())
                .collect();
            match words.as_slice() {
                [] => "this cannot be read".to_owned(),
                words => format!("one of {} is asked for", words.join(", ")),
            }
        },
        ToString::to_string,
    );
    Some(SettingFault {
        place: place.to_owned(),
        message,
    })
}

/// How much a place counts.
pub(super) fn rank(matches: &ArgMatches, name: &str, file: &[Given]) -> u8 {
    match matches
        .try_get_raw(name)
        .ok()
        .flatten()
        .and(matches.value_source(name))
    {
        Some(ValueSource::CommandLine) => 3,
        Some(ValueSource::EnvVariable) => 2,
        Some(_) if file.iter().any(|given| given.name == name) => 1,
        _ => 0,
    }
}

impl Settings {
    /// Whether a data file is named at a place that counts before the one that names a database: then the file is meant.
    pub fn means_data_file(&self, matches: &ArgMatches) -> bool {
        let mut leaf = matches;
        while let Some((_, inner)) = leaf.subcommand() {
            leaf = inner;
        }
        let knows = leaf.try_contains_id(DATABASE).unwrap_or(false);
        knows && rank(leaf, "data", &self.file) > rank(leaf, DATABASE, &self.file)
    }
}
