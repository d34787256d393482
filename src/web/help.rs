//! Help: what this is for, what it is not, and whom to call. Answers without
//! sign-in.

use askama::Template;

use super::page::{Context, Page, Shell};
use super::routes::Routes;

/// The open help page.
pub fn routes(routes: Routes) -> Routes {
    routes.open_get("/help", page)
}

#[derive(Template)]
#[template(path = "help/page.html")]
struct HelpPage {
    shell: Shell,
    help: String,
    emergency_number: String,
    owner: String,
}

async fn page(context: Context) -> Page<HelpPage> {
    Page(HelpPage {
        shell: context.shell("Help"),
        help: context.site.help().to_owned(),
        emergency_number: context.site.emergency_number().to_owned(),
        owner: context.site.owner().to_owned(),
    })
}
