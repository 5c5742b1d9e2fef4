//! Access keys from the command line, for whoever holds the data itself.

use tallyrule::config::DataArgs;
use tallyrule::desk::Desk;
use tallyrule::desk::access::{KeyState, NewAccessKey, Role};
use tallyrule::store::Hand;

use super::{Told, data};

/// Keys that are listed at once.
const AT_ONCE: usize = 500;

#[derive(clap::Subcommand)]
pub enum AccessKeyCommand {
    /// Make an access key and print it, this once
    Create {
        /// Whose it is: a person, or an application for many
        #[arg(long, value_name = "NAME")]
        person: String,
        /// What it lets do
        #[arg(long, value_parser = role)]
        role: Role,
        /// It is an application's: then writes name the person who acts
        #[arg(long)]
        shared: bool,
        /// Days for which it holds
        #[arg(long, value_name = "COUNT", default_value_t = 365, value_parser = clap::value_parser!(u32).range(1..=730))]
        valid_days: u32,
        #[command(flatten)]
        data: DataArgs,
    },
    /// List the access keys, without their secrets
    List {
        #[command(flatten)]
        data: DataArgs,
    },
    /// Take an access key back, at once and for ever
    Revoke {
        /// The key's id
        id: String,
        #[command(flatten)]
        data: DataArgs,
    },
}

fn role(word: &str) -> Result<Role, String> {
    let words = Role::ALL.map(Role::word).join(", ");
    Role::of_word(word).ok_or_else(|| format!("one of {words} is asked for"))
}

fn desk(args: &DataArgs, operation: &str) -> Result<Desk, Told> {
    let store = data::open(&args.location()?, 1, false)?;
    Ok(Desk::new(store.by(Hand::program(operation))))
}

/// Does what is asked.
pub fn run(command: AccessKeyCommand) -> Result<String, Told> {
    match command {
        AccessKeyCommand::Create {
            person,
            role,
            shared,
            valid_days,
            data,
        } => {
            let new = NewAccessKey {
                person,
                role,
                shared,
                valid_days,
            };
            let made = desk(&data, "access-key create")?.create_access_key(&new);
            let (key, secret) = made.map_err(|fault| data::told(&fault))?;
            eprintln!(
                "key {} of {}, {}, until {}; it is printed this once",
                key.row().id,
                key.row().person,
                key.row().role,
                key.row().expires_at
            );
            Ok(format!("{}\n", secret.text()))
        }
        AccessKeyCommand::List { data } => list(&desk(&data, "access-key list")?),
        AccessKeyCommand::Revoke { id, data } => {
            let revoked = desk(&data, "access-key revoke")?.revoke_access_key(&id);
            let key = revoked.map_err(|fault| data::told(&fault))?;
            Ok(format!(
                "key {id} of {} lets nobody in any more\n",
                key.row().person
            ))
        }
    }
}

fn list(desk: &Desk) -> Result<String, Told> {
    let (mut text, mut after) = (String::new(), String::new());
    loop {
        let page = desk
            .access_keys(&after, AT_ONCE)
            .map_err(|fault| data::told(&fault))?;
        for key in &page {
            let (row, state) = (key.row(), state(key.state));
            let shared = if row.shared { ", for an application" } else { "" };
            text.push_str(&format!(
                "{}  {state:8}{:12}until {}  {}{shared}\n",
                row.id, row.role, row.expires_at, row.person
            ));
        }
        match page.last() {
            Some(key) => after.clone_from(&key.row().id),
            None => return Ok(text),
        }
    }
}

fn state(state: KeyState) -> &'static str {
    match state {
        KeyState::Active => "active",
        KeyState::Expired => "expired",
        KeyState::Revoked => "revoked",
    }
}
