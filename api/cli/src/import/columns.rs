//! The columns of the two sheets that can be imported, and which of the two a file is.

/// What a file holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Counts.
    Counts,
    /// Use.
    Usage,
}

/// Columns that must be there.
const COUNTS: [&str; 5] = ["drawer", "part", "counted", "counted_at", "by"];
const USAGE: [&str; 9] = [
    "row_id", "when", "torch", "part", "qty", "arc", "grinds", "job", "what",
];
/// Columns that may be there: an id, and what the sheet of `count --list` tells a person.
const COUNTS_MAY: [&str; 7] = [
    "row_id",
    "site",
    "name",
    "unit",
    "why",
    "last_counted",
    "as_of",
];
const USAGE_MAY: [&str; 2] = ["by", "site"];
/// The columns that come back; a sheet that comes a second time has them already.
pub(crate) const RESULT: &str = "result";
/// The other column that comes back.
pub(crate) const WHAT_TO_DO: &str = "what to do";

impl Kind {
    /// What a header is the header of, with the columns by their one spelling; or why the file cannot
    /// be taken, which names the column.
    pub(crate) fn of(header: &[String]) -> Result<(Self, Vec<&'static str>), String> {
        let named = |name: &str| header.iter().any(|it| it.trim().eq_ignore_ascii_case(name));
        let kind = if named("counted") {
            Self::Counts
        } else if named("torch") || named("when") {
            Self::Usage
        } else {
            return Err(format!(
                "neither \"counted\" nor \"torch\" is among the columns; counts have {}; use has {}",
                COUNTS.join(", "),
                USAGE.join(", ")
            ));
        };
        if let Some(missing) = kind.must().iter().find(|name| !named(name)) {
            return Err(format!(
                "the column \"{missing}\" is missing; it may be empty, but it must be there"
            ));
        }
        let mut columns = Vec::with_capacity(header.len());
        for told in header {
            let Some(known) = kind.column(told.trim()) else {
                return Err(format!(
                    "the column \"{told}\" is unknown; take it out, or call it one of {}",
                    kind.must().join(", ")
                ));
            };
            if columns.contains(&known) {
                return Err(format!("the column \"{known}\" is there twice"));
            }
            columns.push(known);
        }
        Ok((kind, columns))
    }

    fn must(self) -> &'static [&'static str] {
        match self {
            Self::Counts => &COUNTS,
            Self::Usage => &USAGE,
        }
    }

    fn column(self, told: &str) -> Option<&'static str> {
        let may: &[&str] = match self {
            Self::Counts => &COUNTS_MAY,
            Self::Usage => &USAGE_MAY,
        };
        let known = self.must().iter().chain(may);
        known
            .chain(&[RESULT, WHAT_TO_DO])
            .copied()
            .find(|name| told.eq_ignore_ascii_case(name))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn header(text: &str) -> Vec<String> {
        text.split(',').map(str::to_owned).collect()
    }

    #[test]
    fn a_header_tells_which_sheet_it_is() {
        let (kind, columns) =
            Kind::of(&header("Drawer,PART,counted,counted_at,by")).expect("counts");
        assert_eq!(kind, Kind::Counts);
        assert_eq!(columns, COUNTS);
        let usage = "row_id,when,torch,part,qty,arc,grinds,job,what,result,what to do";
        let (kind, columns) = Kind::of(&header(usage)).expect("use");
        assert_eq!((kind, columns.len()), (Kind::Usage, 11));
    }

    #[test]
    fn a_column_that_is_missing_unknown_or_there_twice_is_named() {
        for (text, words) in [
            ("drawer,part,counted,by", "\"counted_at\" is missing"),
            (
                "drawer,part,counted,counted_at,by,min",
                "\"min\" is unknown",
            ),
            (
                "drawer,part,counted,counted_at,by,Part",
                "\"part\" is there twice",
            ),
            (
                "row_id,when,torch,part,qty,arc,grinds,job",
                "\"what\" is missing",
            ),
            ("supplier,price", "neither"),
            ("", "neither"),
        ] {
            let why = Kind::of(&header(text)).expect_err(text);
            assert!(why.contains(words), "{text}: {why}");
        }
    }
}
