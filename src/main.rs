//! Reads the command word and calls the library.

use anyhow::Context;
use clap::{Parser, Subcommand};
use farpoint::config::Config;
use farpoint::run;

/// One shared record for the eye-care team around a student with low vision.
#[derive(Parser)]
#[command(name = "farpoint", version, about)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Start with invented people in an embedded database, for a look around.
    Demo {
        #[command(flatten)]
        config: Config,
        /// Fill the database and exit.
        #[arg(long)]
        seed_only: bool,
    },
    /// Start an installation.
    Serve {
        #[command(flatten)]
        config: Config,
    },
    /// Bring the database up to date and exit.
    Migrate {
        #[command(flatten)]
        config: Config,
    },
    /// Make an account, for example the first records officer; the password is
    /// read from standard input.
    Account {
        #[command(flatten)]
        config: Config,
        #[command(flatten)]
        wanted: run::WantedAccount,
    },
}

fn main() -> anyhow::Result<()> {
    let wanted = std::env::var("FARPOINT_LOG").unwrap_or_else(|_| "info,sqlx=warn".to_owned());
    let filter = tracing_subscriber::EnvFilter::try_new(&wanted)
        .context("FARPOINT_LOG: write for example info, or debug,sqlx=warn")?;
    tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr).init();
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async {
        match Cli::parse().command {
            Command::Demo { config, seed_only } => run::demo(config, seed_only).await,
            Command::Serve { config } => run::serve(config).await,
            Command::Migrate { config } => run::migrate(config).await,
            Command::Account { config, wanted } => run::account(config, wanted).await,
        }
    })
}
