//! What each command word does: open, migrate, fill, listen.
//!
//! The only place besides `main` that gathers errors of all kinds, for an
//! operator at a terminal.

use std::io::IsTerminal;
use std::net::SocketAddr;

use anyhow::{Context, bail};
use clap::Args;

use crate::access::Role;
use crate::clock::Clock;
use crate::config::Config;
use crate::db::Db;
use crate::demo;
use crate::mail::Smtp;
use crate::password::Passwords;
use crate::store::account::{NewAccount, create_by_operator};
use crate::store::{Audit, Files, Store, StoreError, attachment};
use crate::web::sign_in::SHORTEST_PASSWORD;
use crate::web::state::App;
use crate::web::telling;

/// An account the operator makes.
#[derive(Args)]
pub struct WantedAccount {
    /// The person's name.
    #[arg(long)]
    pub name: String,
    /// What the person types to sign in.
    #[arg(long)]
    pub sign_in: String,
    /// vision_teacher, classroom_teacher, parent or clinician; left out, a records officer.
    #[arg(long)]
    pub role: Option<Role>,
    /// The clinic a clinician works for, as consents name it.
    #[arg(long)]
    pub clinic: Option<String>,
    /// A clinician's credential.
    #[arg(long)]
    pub credential: Option<String>,
    /// A clinician's licence.
    #[arg(long)]
    pub licence: Option<String>,
    /// Whether the account manages the site.
    #[arg(long)]
    pub steward: bool,
}

async fn open(config: &Config) -> anyhow::Result<Store> {
    let files = Files::at(&config.attachments()).with_context(|| {
        format!("FARPOINT_DATA: the folder {} cannot be made; choose one you may write to", config.data.display())
    })?;
    let db = Db::open(&config.database()).await.context("FARPOINT_DATABASE_URL or FARPOINT_DATA")?;
    db.migrate().await?;
    let store = Store::over(db, Clock::system(config.time_zone.clone()), files);
    attachment::sweep(&store).await.context("FARPOINT_DATA: the folder of attachments cannot be read")?;
    Ok(store)
}

fn app(config: &Config, store: Store) -> anyhow::Result<App> {
    Ok(App {
        store,
        passwords: Passwords::new(config.cost()).context("FARPOINT_HASH_MEMORY_KIB or FARPOINT_HASH_PASSES")?,
        address: config.address().into(),
        secure: config.address().starts_with("https://"),
        sign_in_burst: config.sign_in_burst,
        letters_from: mail(config)?.map(|smtp| smtp.sender().into()),
    })
}

fn mail(config: &Config) -> anyhow::Result<Option<Smtp>> {
    config.mail().map_err(anyhow::Error::msg)
}

async fn listen(config: &Config, app: App) -> anyhow::Result<()> {
    let listener = tokio::net::TcpListener::bind(config.listen).await.with_context(|| {
        format!("FARPOINT_LISTEN: nothing can listen on {}; is another server running there?", config.listen)
    })?;
    println!("Listening on {}", config.address());
    let store = app.store.clone();
    if let Some(smtp) = mail(config)? {
        tokio::spawn(telling::every_minute(app.clone(), smtp));
    }
    let service = crate::web::app(app).into_make_service_with_connect_info::<SocketAddr>();
    axum::serve(listener, service)
        .with_graceful_shutdown(async {
            // Without a signal handler the server simply runs until it is ended.
            if tokio::signal::ctrl_c().await.is_err() {
                std::future::pending::<()>().await;
            }
        })
        .await?;
    store.db().close().await;
    Ok(())
}

/// Starts an installation.
///
/// # Errors
/// Says which setting to mend.
pub async fn serve(config: Config) -> anyhow::Result<()> {
    let store = open(&config).await?;
    let app = app(&config, store)?;
    listen(&config, app).await
}

/// Starts with invented people; a second start keeps what was entered.
///
/// # Errors
/// Says which setting to mend.
pub async fn demo(config: Config, seed_only: bool) -> anyhow::Result<()> {
    let store = open(&config).await?;
    let app = app(&config, store)?;
    demo::fill(&app).await?;
    println!("{}", demo::sign_ins());
    if seed_only {
        app.store.db().close().await;
        return Ok(());
    }
    listen(&config, app).await
}

/// Brings the database up to date.
///
/// # Errors
/// Says which setting to mend.
pub async fn migrate(config: Config) -> anyhow::Result<()> {
    let store = open(&config).await?;
    store.db().close().await;
    println!("The database is up to date.");
    Ok(())
}

/// Makes an account; the password comes from standard input, so that it stands
/// in no list of processes.
///
/// # Errors
/// When the password is too short or the sign-in name is in use.
pub async fn account(config: Config, wanted: WantedAccount) -> anyhow::Result<()> {
    if std::io::stdin().is_terminal() {
        println!("Type a password of at least {SHORTEST_PASSWORD} characters, then Enter. It is shown as you type.");
    }
    let mut password = String::new();
    std::io::stdin().read_line(&mut password)?;
    let password = password.trim_end_matches(['\r', '\n']);
    if password.chars().count() < SHORTEST_PASSWORD {
        bail!("the password needs at least {SHORTEST_PASSWORD} characters");
    }
    if wanted.role == Some(Role::Clinician) && (wanted.clinic.is_none() || wanted.licence.is_none()) {
        bail!("a clinician needs --clinic and --licence: consents name the clinic, prescriptions print the licence");
    }
    let store = open(&config).await?;
    let app = app(&config, store)?;
    let new = NewAccount {
        steward: wanted.steward || wanted.role.is_none(),
        role: wanted.role,
        mobility: false,
        name: wanted.name,
        sign_in: wanted.sign_in,
        password_hash: app.passwords.hash(password).await?,
        clinic: wanted.clinic,
        credential: wanted.credential,
        licence: wanted.licence,
        language: "en".to_owned(),
    };
    let mut tx = app.store.tx().await?;
    match create_by_operator(&mut tx, &new).await {
        Ok(id) => {
            tx.commit(Audit::operator("create account").record(id)).await?;
            println!("The account is made. Sign in at {}/sign-in.", config.address());
        }
        Err(StoreError::Taken) => bail!("--sign-in: this name is in use; choose another"),
        Err(error) => return Err(error.into()),
    }
    app.store.db().close().await;
    Ok(())
}
