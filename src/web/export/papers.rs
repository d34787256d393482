//! The papers of a record, for whoever takes it along.
//!
//! Each is the paper that its own page gives, built under the same proof to export and
//! set in the size asked for; so nobody finds here what they could not print there, and
//! a draft or a card that was never released is in neither.

use askama::Template;
use jiff::ToSpan;

use super::super::error::{Error, Result};
use super::super::page::Context;
use super::super::state::App;
use super::super::visit::Visit;
use super::super::{card, evaluation, history, pdf, prescription, summaries, training};
use crate::access::action::Export;
use crate::access::resource::{Card, DisclosureRecord, Evaluation, Prescription, Summary, Training, Transcription};
use crate::exchange::pack::Paper;
use crate::pdf::{Room, Size};
use crate::store::{evaluation as evaluations, prescription as prescriptions, summary, training as sessions};

/// Every paper that this reader may take, in one size.
pub(super) async fn all(app: &App, context: &Context, visit: &Visit, size: Size) -> Result<Vec<Paper>> {
    let mut desk = Desk { app, context, visit, size, done: Vec::new() };
    desk.evaluations().await?;
    desk.reports().await?;
    desk.prescriptions().await?;
    desk.summaries().await?;
    desk.progress().await?;
    desk.card().await?;
    desk.disclosures().await?;
    Ok(desk.done)
}

/// Where papers are set, one after the other.
struct Desk<'a> {
    app: &'a App,
    context: &'a Context,
    visit: &'a Visit,
    size: Size,
    done: Vec<Paper>,
}

impl Desk<'_> {
    /// The request as if the paper's own page had been asked for: what is said over a
    /// page depends on which it is.
    fn at(&self, below: &str) -> Context {
        Context { path: self.visit.at(below), ..self.context.clone() }
    }

    /// Sets a page; one that answers as if it were not there has no paper.
    async fn set<T: Template>(&mut self, name: String, page: Result<T>, (here, room): (&Context, Room)) -> Result<()> {
        let page = match page {
            Ok(page) => page,
            Err(Error::Hidden) => return Ok(()),
            Err(error) => return Err(error),
        };
        let content = pdf::set((here, self.visit), &page, (self.size, room)).await?;
        self.done.push(Paper { name, content });
        Ok(())
    }

    async fn evaluations(&mut self) -> Result<()> {
        let Some(access) = self.visit.open_if::<Evaluation, Export>().await? else { return Ok(()) };
        for listed in evaluations::list(&mut self.app.store.snapshot().await?, &access).await? {
            let here = self.at(&format!("/evaluations/{}/paper.pdf", listed.id));
            let page = evaluation::printed(self.app, &here, self.visit, &access, listed.id).await;
            self.set(format!("evaluation-{}", listed.id), page, (&here, Room::Open)).await?;
        }
        Ok(())
    }

    async fn reports(&mut self) -> Result<()> {
        let Some(access) = self.visit.open_if::<Transcription, Export>().await? else { return Ok(()) };
        for listed in evaluations::list(&mut self.app.store.snapshot().await?, &access).await? {
            let here = self.at(&format!("/evaluations/paper/{}/paper.pdf", listed.id));
            let page = evaluation::paper::printed(self.app, &here, self.visit, &access, listed.id).await;
            self.set(format!("report-{}", listed.id), page, (&here, Room::Open)).await?;
        }
        Ok(())
    }

    async fn prescriptions(&mut self) -> Result<()> {
        let Some(access) = self.visit.open_if::<Prescription, Export>().await? else { return Ok(()) };
        for one in prescriptions::list(&mut self.app.store.snapshot().await?, &access).await? {
            let here = self.at(&format!("/prescription/{}/paper.pdf", one.id));
            let page = prescription::printed(self.app, &here, self.visit, &access, one.id).await;
            self.set(format!("prescription-{}", one.id), page, (&here, Room::Open)).await?;
        }
        Ok(())
    }

    async fn summaries(&mut self) -> Result<()> {
        let Some(access) = self.visit.open_if::<Summary, Export>().await? else { return Ok(()) };
        for one in summary::list(&mut self.app.store.snapshot().await?, &access).await? {
            let here = self.at(&format!("/summaries/{}/paper.pdf", one.id));
            let page = summaries::printed(self.app, &here, self.visit, &access, one.id).await;
            self.set(format!("summary-{}", one.id), page, (&here, Room::Open)).await?;
        }
        Ok(())
    }

    /// One report of every session, as far back as a report goes.
    async fn progress(&mut self) -> Result<()> {
        let Some(access) = self.visit.open_if::<Training, Export>().await? else { return Ok(()) };
        let mut snapshot = self.app.store.snapshot().await?;
        let today = snapshot.today();
        let held = sessions::list(&mut snapshot, &access).await?;
        drop(snapshot);
        let Some(first) = held.iter().map(|session| session.entered.held_on).min() else { return Ok(()) };
        let from = first.max(today.saturating_sub(5.years()));
        let here = self.at("/training/report/paper.pdf");
        let days = format!("from={from}&to={today}");
        let page = training::report::printed(self.app, &here, self.visit, &access, Some(&days)).await;
        self.set("progress".to_owned(), page, (&here, Room::Open)).await
    }

    async fn card(&mut self) -> Result<()> {
        let Some(access) = self.visit.open_if::<Card, Export>().await? else { return Ok(()) };
        let here = self.at("/card/paper.pdf");
        let page = card::printed(self.app, &here, self.visit, &access).await;
        self.set("card".to_owned(), page, (&here, Room::OneSide)).await
    }

    async fn disclosures(&mut self) -> Result<()> {
        let Some(access) = self.visit.open_if::<DisclosureRecord, Export>().await? else { return Ok(()) };
        let here = self.at("/history/paper.pdf");
        let page = history::printed(self.app, &here, self.visit, &access).await;
        self.set("disclosures".to_owned(), page, (&here, Room::Open)).await
    }
}
