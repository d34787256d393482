//! Every setting: its variable, its default, and what is refused.
//!
//! A value that makes no sense stops the start with the variable's name and
//! what would be right. Does not know what the settings are used for.

use std::fmt;
use std::net::SocketAddr;
use std::path::PathBuf;

use clap::Args;
use jiff::tz::TimeZone;

use crate::mail::{BadMail, Smtp};
use crate::password::Cost;

/// Where and how the server runs.
#[derive(Clone, Args)]
pub struct Config {
    /// Address to listen on.
    #[arg(long, env = "FARPOINT_LISTEN", default_value = "127.0.0.1:8650")]
    pub listen: SocketAddr,
    /// Folder for the embedded database and attachments.
    #[arg(long, env = "FARPOINT_DATA", default_value = "data")]
    pub data: PathBuf,
    /// `postgres://…` for a PostgreSQL server; left out, a SQLite file in the data folder.
    #[arg(long, env = "FARPOINT_DATABASE_URL", hide_env_values = true)]
    pub database_url: Option<String>,
    /// Time zone of the schools, as in the tz database.
    #[arg(long, env = "FARPOINT_TIME_ZONE", default_value = "America/Denver", value_parser = zone)]
    pub time_zone: TimeZone,
    /// Address people type, for links; with https:// the cookies are secure.
    #[arg(long, env = "FARPOINT_PUBLIC_URL", value_parser = public_url)]
    pub public_url: Option<String>,
    /// Memory per password hash, in KiB (8 to 1048576).
    #[arg(long, env = "FARPOINT_HASH_MEMORY_KIB", default_value_t = Cost::STRONG.memory_kib, value_parser = clap::value_parser!(u32).range(8..=1_048_576))]
    pub hash_memory_kib: u32,
    /// Passes per password hash (1 to 10).
    #[arg(long, env = "FARPOINT_HASH_PASSES", default_value_t = Cost::STRONG.passes, value_parser = clap::value_parser!(u32).range(1..=10))]
    pub hash_passes: u32,
    /// Sign-in attempts one network address may make at once (1 to 10000); one more comes back every six seconds.
    #[arg(long, env = "FARPOINT_SIGN_IN_BURST", default_value_t = 20, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub sign_in_burst: u32,
    /// Mail server for letters that say only that something is new; left out, none are sent.
    #[arg(long, env = "FARPOINT_SMTP_URL", hide_env_values = true, requires = "mail_from")]
    pub smtp_url: Option<String>,
    /// The address those letters come from.
    #[arg(long, env = "FARPOINT_MAIL_FROM", requires = "smtp_url")]
    pub mail_from: Option<String>,
}

impl Config {
    /// What a password hash costs here.
    pub fn cost(&self) -> Cost {
        Cost { memory_kib: self.hash_memory_kib, passes: self.hash_passes }
    }

    /// The database's address.
    pub fn database(&self) -> String {
        self.database_url.clone().unwrap_or_else(|| format!("sqlite:{}", self.data.join("farpoint.db").display()))
    }

    /// Where attachments lie, with either engine.
    pub fn attachments(&self) -> PathBuf {
        self.data.join("attachments")
    }

    /// The way to the mail server, where one is named.
    ///
    /// # Errors
    /// Names the setting that is wrong.
    pub fn mail(&self) -> Result<Option<Smtp>, String> {
        let (Some(server), Some(from)) = (&self.smtp_url, &self.mail_from) else { return Ok(None) };
        let named = |error: &BadMail| match error {
            BadMail::Server => format!("FARPOINT_SMTP_URL: {error}"),
            BadMail::From => format!("FARPOINT_MAIL_FROM: {error}"),
        };
        Smtp::new(server, from).map(Some).map_err(|error| named(&error))
    }

    /// The address people type.
    pub fn address(&self) -> String {
        self.public_url.clone().unwrap_or_else(|| format!("http://{}", self.listen))
    }
}

impl fmt::Debug for Config {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Config")
            .field("listen", &self.listen)
            .field("data", &self.data)
            .field("database_url", &self.database_url.as_ref().map(|_| "(hidden)"))
            .field("smtp_url", &self.smtp_url.as_ref().map(|_| "(hidden)"))
            .field("public_url", &self.public_url)
            .finish_non_exhaustive()
    }
}

fn zone(name: &str) -> Result<TimeZone, String> {
    TimeZone::get(name).map_err(|_| format!("\"{name}\" is not in the tz database; write for example America/Denver"))
}

fn public_url(url: &str) -> Result<String, String> {
    let plain = url.trim_end_matches('/');
    let host = plain.strip_prefix("https://").or_else(|| plain.strip_prefix("http://"));
    match host {
        Some(host) if !host.is_empty() && !host.contains(['/', ' ', '?', '#']) => Ok(plain.to_owned()),
        _ => Err("write it as https://farpoint.example.org, without a path".to_owned()),
    }
}
