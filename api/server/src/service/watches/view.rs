//! Watches as they are told, and what there is to know of one that was just set.

use domain::watch::Filter;
use types::{NewWatch, Watch};

use super::{Subject, Watched};
use crate::service::{Error, parts};
use crate::store::entity::parts as part_rows;

/// A watch as it is told.
pub(super) fn told(watched: &Watched, site: &str) -> Watch {
    let mut new = NewWatch {
        site: Some(site.to_owned()),
        limit: limit(watched),
        week_minutes: watched.week_minutes,
        channels: watched.channels.clone(),
        ..NewWatch::default()
    };
    let subject = subject(&watched.subject);
    match &watched.subject {
        Subject::Parts(Some(_), _) => new.filter = Some(subject.clone()),
        Subject::Parts(None, _) => new.part = Some(subject.clone()),
        Subject::Kit(_) => new.kit = Some(subject.clone()),
        Subject::Job(..) => new.job = Some(subject.clone()),
        Subject::Course(..) => new.course = Some(subject.clone()),
        Subject::Torch(_) => new.torch = Some(subject.clone()),
    }
    if let Some(row) = &watched.row {
        new.target = row.target;
        new.review_days = row.review_days;
        new.off = row.is_off;
        new.off_because.clone_from(&row.off_because);
    }
    let id = watched.row.as_ref().map(|row| row.id);
    let version = watched.row.as_ref().map_or(0, |row| row.version);
    new.into_view(id, subject, id.is_none(), Vec::new(), version)
}

/// From what on it is low; a torch is not low.
fn limit(watched: &Watched) -> Option<String> {
    let is_torch = matches!(watched.subject, Subject::Torch(_));
    (!is_torch).then(|| watched.limit.to_string())
}

/// What a watch is on, in a word.
pub(super) fn subject(subject: &Subject) -> String {
    match subject {
        Subject::Parts(Some(filter), _) => filter.to_string(),
        Subject::Parts(None, parts) => parts
            .first()
            .map_or_else(String::new, |part| part.code.clone()),
        Subject::Kit(kit) => kit.code.clone(),
        Subject::Job(_, code, _) | Subject::Course(_, code, _) => code.clone(),
        Subject::Torch(torch) => torch.code.clone(),
    }
}

/// What there is to know of a watch: a filter that takes nothing names what comes nearest.
pub(super) fn note(subject: &Subject, all: &[part_rows::Model]) -> Result<Vec<String>, Error> {
    let Subject::Parts(Some(filter), parts) = subject else {
        return Ok(Vec::new());
    };
    if !parts.is_empty() {
        let codes: Vec<&str> = parts.iter().map(|part| part.code.as_str()).collect();
        return Ok(vec![format!("Takes together: {}.", codes.join(", "))]);
    }
    let nearest = match nearest(filter, all)? {
        Some(code) => format!("nearest is {code}"),
        None => format!("there is no {} yet", filter.kind().noun()),
    };
    Ok(vec![format!(
        "No part is {filter}; {nearest}. It is kept, and takes such a part as soon as there is one."
    )])
}

fn nearest(filter: &Filter, all: &[part_rows::Model]) -> Result<Option<String>, Error> {
    let mut best: Option<(usize, &str)> = None;
    for part in all {
        let spec = parts::spec(part)?;
        let near = filter.nearness(&spec);
        if spec.kind() == filter.kind() && best.is_none_or(|(before, _)| near > before) {
            best = Some((near, &part.code));
        }
    }
    Ok(best.map(|(_, code)| code.to_owned()))
}
