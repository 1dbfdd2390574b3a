//! The frame of every page that stands alone: no script, nothing from elsewhere.

use maud::{DOCTYPE, Markup, PreEscaped, html};

/// A page with a title, its style and what it shows.
pub(super) fn page(title: &str, style: &str, body: &Markup) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "smirch: " (title) }
                style { (PreEscaped(style)) }
            }
            body { (body) }
        }
    }
    .into_string()
}
