//! What a mail says: subject, plain text and the same as HTML. Sending it is in `mail`.

use maud::{DOCTYPE, html};
use types::{Event, EventKind};

use crate::service::deliveries::InHand;
use crate::service::{Context, Error, count_links};

/// The longest subject, in characters; mail programs show about as much.
const SUBJECT_MAX: usize = 120;

/// A mail, written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Letter {
    /// The subject, one line.
    pub subject: String,
    /// The message as plain text.
    pub text: String,
    /// The same as HTML, without anything to load.
    pub html: String,
}

/// How to put a wrong warning right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reply {
    /// By a link to a form.
    Link(String),
    /// By a command.
    Command(String),
}

/// How the count is told that puts a warning right; none if a count would not.
///
/// # Errors
/// The key of the links cannot be read or made.
pub async fn reply(
    context: &Context,
    in_hand: &InHand,
    public_url: Option<&str>,
) -> Result<Option<Reply>, Error> {
    let event = &in_hand.event;
    let (Some(part), Some(site)) = (&in_hand.part, &event.site) else {
        return Ok(None);
    };
    if !matches!(
        event.kind,
        EventKind::WarningTold | EventKind::WarningEscalated
    ) {
        return Ok(None);
    }
    let Some(public_url) = public_url else {
        return Ok(Some(Reply::Command(format!(
            "tigstock count {part} NUMBER --site {site}"
        ))));
    };
    let link = count_links::Link {
        warning: event.warning,
        part: part.clone(),
        site: site.clone(),
        until: event.at + count_links::VALID,
    };
    let token = count_links::sign(context, &link).await?;
    Ok(Some(Reply::Link(format!("{public_url}/count/{token}"))))
}

/// Writes the mail of an event.
pub fn of(event: &Event, reply: Option<&Reply>) -> Letter {
    let lines = lines(event);
    let footer = footer(event);
    let lines_text: Vec<String> = lines.iter().map(|line| format!("\n- {line}\n")).collect();
    let reply_text = match reply {
        Some(Reply::Link(link)) => {
            format!("\nIs the number wrong? Count, and say so here:\n{link}\n")
        }
        Some(Reply::Command(command)) => {
            format!("\nIs the number wrong? Count, and say so:\n{command}\n")
        }
        None => String::new(),
    };
    // What follows the two hyphens and the blank is a signature (RFC 3676 4.3).
    let text = format!(
        "{}\n{}{reply_text}\n-- \n{footer}\n",
        event.says,
        lines_text.concat()
    );
    let html = html! {
        (DOCTYPE)
        html lang="en" {
            head { meta charset="utf-8"; title { (subject(&event.says)) } }
            body {
                p { (event.says) }
                @if !lines.is_empty() {
                    ul { @for line in &lines { li { (line) } } }
                }
                @match reply {
                    Some(Reply::Link(link)) => {
                        p { "Is the number wrong? " a href=(link) { "Count, and say so here" } "." }
                    }
                    Some(Reply::Command(command)) => {
                        p { "Is the number wrong? Count, and say so: " code { (command) } }
                    }
                    None => {}
                }
                p { small { (footer) } }
            }
        }
    };
    Letter {
        subject: subject(&event.says),
        text,
        html: html.into_string(),
    }
}

/// The lines of a digest; nothing else has any.
fn lines(event: &Event) -> Vec<String> {
    let lines = event.data.get("lines").and_then(|lines| lines.as_array());
    let lines = lines.into_iter().flatten();
    lines
        .filter_map(|line| line.get("says")?.as_str().map(str::to_owned))
        .collect()
}

fn footer(event: &Event) -> String {
    let about = event
        .site
        .as_deref()
        .map_or_else(String::new, |site| format!(", site {site}"));
    format!(
        "tigstock{about}. This is stock and planning help, not safety advice. Who gets which mail is set at \
         /v1/mail-addresses."
    )
}

/// The first sentence, since a person reads it in a list.
fn subject(says: &str) -> String {
    let end = says.find(". ").map_or(says.len(), |end| end + 1);
    let first: String = says[..end]
        .chars()
        .map(|letter| if letter.is_control() { ' ' } else { letter })
        .collect();
    if first.chars().count() <= SUBJECT_MAX {
        return first;
    }
    let cut: String = first.chars().take(SUBJECT_MAX - 3).collect();
    format!("{cut}...")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_subject_is_the_first_sentence_and_a_size_does_not_end_one() {
        let says = "Electrode WLa20 1.6 mm: 4 left, order point 4. You use about 0.7 a week.";
        assert_eq!(
            subject(says),
            "Electrode WLa20 1.6 mm: 4 left, order point 4."
        );
    }

    #[test]
    fn a_subject_is_one_short_line() {
        let told = subject(&"collet\nbody ".repeat(40));
        assert_eq!(told.chars().count(), SUBJECT_MAX);
        assert!(!told.contains('\n'), "{told}");
    }
}
