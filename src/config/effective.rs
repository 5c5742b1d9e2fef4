//! What counts in the end, as a file of settings that says where each came from.

use clap::parser::ValueSource;
use clap::{Arg, ArgMatches, Command};

use super::given::{Settings, settings};

/// What stands for what is secret.
const MASK: &str = "********";

/// Every setting of `command` as `matches` has it.
pub fn effective(command: &Command, matches: &ArgMatches, given: &Settings) -> String {
    settings(command).map(|arg| line(arg, matches, given)).collect()
}

fn line(arg: &Arg, matches: &ArgMatches, given: &Settings) -> String {
    let name = arg.get_id().as_str();
    let raw = matches.try_get_raw(name).ok().flatten().unwrap_or_default();
    let values: Vec<String> = raw
        .map(|value| shown(&value.to_string_lossy(), arg.is_hide_env_values_set()))
        .collect();
    if values.is_empty() {
        return format!("# {name} is not set\n");
    }
    let place = match matches.value_source(name) {
        Some(ValueSource::CommandLine) => "the command line".to_owned(),
        Some(ValueSource::EnvVariable) => {
            let variable = arg.get_env().map(|name| name.to_string_lossy());
            variable.unwrap_or_default().into_owned()
        }
        _ => match given.file.iter().find(|given| given.name == name) {
            Some(given) => given.place.clone(),
            None => "usual".to_owned(),
        },
    };
    let value = match values.as_slice() {
        [one] if arg.get_value_delimiter().is_none() => written(one),
        many => {
            let texts: Vec<String> = many
                .iter()
                .flat_map(|text| text.split(','))
                .map(|text| toml::Value::String(text.to_owned()).to_string())
                .collect();
            format!("[{}]", texts.join(", "))
        }
    };
    format!("{:40} # {place}\n", format!("{name} = {value}"))
}

/// A number as one, everything else as text.
fn written(value: &str) -> String {
    if value.bytes().all(|byte| byte.is_ascii_digit()) {
        value.to_owned()
    } else {
        toml::Value::String(value.to_owned()).to_string()
    }
}

/// A value without the secrets in it: the password of any address, and what its options say.
fn shown(value: &str, secret: bool) -> String {
    let Some((scheme, rest)) = value.split_once("://") else {
        return if secret { MASK.to_owned() } else { value.to_owned() };
    };
    let (rest, options) = match rest.split_once('?') {
        Some((rest, _)) => (rest, format!("?{MASK}")),
        None => (rest, String::new()),
    };
    let rest = match rest.rsplit_once('@') {
        Some((user, place)) => {
            let user = user.split(':').next().unwrap_or_default();
            format!("{user}:{MASK}@{place}")
        }
        None => rest.to_owned(),
    };
    format!("{scheme}://{rest}{options}")
}
