//! Reads the command word and calls the library.

use std::io::{BufWriter, stdin, stdout};
use std::path::PathBuf;

use anyhow::Context;
use clap::{Parser, Subcommand};
use farpoint::compute::lines;
use farpoint::config::Config;
use farpoint::exchange::archive::MOST_BYTES;
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
    /// Write everything into one archive, to move or keep an installation. It
    /// is logged.
    Export {
        #[command(flatten)]
        config: Config,
        /// Everything: every table and every attached file.
        #[arg(long, required = true)]
        all: bool,
        /// The folder to write the archive into.
        #[arg(long)]
        to: PathBuf,
    },
    /// Read such an archive into an installation that is empty.
    Import {
        #[command(flatten)]
        config: Config,
        /// The archive.
        #[arg(long)]
        from: PathBuf,
        /// How much it may unpack to, in MiB.
        #[arg(long, default_value_t = MOST_BYTES >> 20)]
        at_most_mib: u64,
    },
    /// Compute figures from lines of JSON on standard input: {"id", "op",
    /// "inputs"} is answered with {"id", "result"} or {"id", "error"}.
    Compute {
        /// List the operations, the questions they answer and their inputs.
        #[arg(long)]
        list: bool,
    },
}

fn main() -> anyhow::Result<()> {
    match Cli::parse().command {
        // Arithmetic needs no log, no database and no waiting.
        Command::Compute { list: true } => Ok(lines::list(stdout().lock())?),
        Command::Compute { list: false } => Ok(lines::answer_all(stdin().lock(), BufWriter::new(stdout().lock()))?),
        other => start(other),
    }
}

/// The commands around the service.
fn start(command: Command) -> anyhow::Result<()> {
    let wanted = std::env::var("FARPOINT_LOG").unwrap_or_else(|_| "info,sqlx=warn".to_owned());
    let filter = tracing_subscriber::EnvFilter::try_new(&wanted)
        .context("FARPOINT_LOG: write for example info, or debug,sqlx=warn")?;
    tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr).init();
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async {
        match command {
            Command::Demo { config, seed_only } => run::demo(config, seed_only).await,
            Command::Serve { config } => run::serve(config).await,
            Command::Migrate { config } => run::migrate(config).await,
            Command::Account { config, wanted } => run::account(config, wanted).await,
            Command::Export { config, to, .. } => run::export(config, &to).await,
            Command::Import { config, from, at_most_mib } => {
                run::import(config, &from, at_most_mib.saturating_mul(1 << 20)).await
            }
            Command::Compute { .. } => Ok(()),
        }
    })
}
