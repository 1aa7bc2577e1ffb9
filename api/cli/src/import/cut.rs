//! A long text cut into parts that are sent one after the other, so that neither side holds the whole, nobody waits for
//! an answer without knowing how far it is, and what was sent stays if the way breaks.

/// How many rows a part has.
const ROWS: usize = 2_000;
/// A header stands among so many records from the top, as the service looks for it.
const TOP: usize = 20;

/// A text that is cut at the beginnings of records.
#[derive(Debug)]
pub(super) struct Cut<'t> {
    text: &'t [u8],
    /// Where the records near the top begin, with the line of each.
    top: Vec<(usize, u64)>,
    /// Where the parts after the first begin, with the line of each and how many records stand before.
    parts: Vec<(usize, u64, u64)>,
    records: u64,
}

/// A part of a text, without its header.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Part<'t> {
    /// What it holds.
    pub(super) bytes: &'t [u8],
    /// The line on which it begins.
    pub(super) line: u64,
    /// How many records stand before it.
    pub(super) done: u64,
}

impl<'t> Cut<'t> {
    /// Cuts a text of more rows than a part has; nothing for other files, which are sent as they are.
    pub(super) fn of(text: &'t [u8]) -> Option<Self> {
        let readable = std::str::from_utf8(text).ok()?;
        // A workbook, and UTF-16.
        if text.starts_with(b"PK") || text.contains(&0) || readable.lines().nth(ROWS).is_none() {
            return None;
        }
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(separator(readable))
            .flexible(true)
            .has_headers(false)
            .from_reader(text);
        let mut cut = Self {
            text,
            top: Vec::new(),
            parts: Vec::new(),
            records: 0,
        };
        let mut record = csv::ByteRecord::new();
        let (mut counted, mut line) = (0, 1);
        while reader.read_byte_record(&mut record).ok()? {
            let at = usize::try_from(record.position()?.byte()).ok()?;
            // The reader takes the end of the line before for the beginning of a record.
            let ends = text.get(at..)?.iter();
            let at = at + ends.take_while(|it| matches!(it, b'\r' | b'\n')).count();
            let passed = text.get(counted..at)?.iter();
            line += passed.fold(0, |lines, it| lines + u64::from(*it == b'\n'));
            counted = at;
            if cut.top.len() < TOP {
                cut.top.push((at, line));
            }
            if cut.records > 0 && cut.records.is_multiple_of(u64::try_from(ROWS).ok()?) {
                cut.parts.push((at, line, cut.records));
            }
            cut.records += 1;
        }
        (!cut.parts.is_empty()).then_some(cut)
    }

    /// How many records there are.
    pub(super) const fn rows(&self) -> u64 {
        self.records
    }

    /// The first part, as it stands in the file.
    pub(super) fn first(&self) -> &'t [u8] {
        let end = self.parts.first().map_or(self.text.len(), |it| it.0);
        &self.text[..end]
    }

    /// The header that stands on a line.
    pub(super) fn header(&self, line: u64) -> Option<&'t [u8]> {
        let place = self.top.iter().position(|it| it.1 == line)?;
        let (from, _) = self.top[place];
        let (end, _) = self.top.get(place + 1)?;
        Some(&self.text[from..*end])
    }

    /// The other parts.
    pub(super) fn others(&self) -> impl Iterator<Item = Part<'t>> {
        let ends = self.parts.iter().skip(1).map(|it| it.0);
        let ends = ends.chain([self.text.len()]);
        self.parts.iter().zip(ends).map(|(part, end)| Part {
            bytes: &self.text[part.0..end],
            line: part.1,
            done: part.2,
        })
    }
}

/// What parts the values: of comma, semicolon and tab the one that is most often in one of the first lines.
fn separator(text: &str) -> u8 {
    let most = |letter: u8| {
        let lines = text.lines().take(TOP);
        let counts = lines.map(|line| line.bytes().filter(|it| *it == letter).count());
        counts.max().unwrap_or_default()
    };
    [b'\t', b';', b',']
        .into_iter()
        .rev()
        .max_by_key(|it| most(*it))
        .unwrap_or(b',')
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A title, a header, and rows of two lines each.
    fn long(rows: usize) -> String {
        let row = |row| format!("p-{row},\"first\nsecond, {row}\"\r\n");
        let rows: String = (0..rows).map(row).collect();
        format!("counts of the spring\r\npart,note\r\n{rows}")
    }

    #[test]
    fn a_short_text_and_a_workbook_stay_whole() {
        assert!(Cut::of(long(100).as_bytes()).is_none());
        assert!(Cut::of(&[b"PK", long(5_000).as_bytes()].concat()).is_none());
        assert!(Cut::of(b"").is_none());
    }

    #[test]
    fn a_long_text_is_cut_between_its_rows() {
        let text = long(4_500);
        let cut = Cut::of(text.as_bytes()).expect("it is cut");
        assert_eq!(cut.rows(), 4_502);
        assert_eq!(cut.header(2), Some(&b"part,note\r\n"[..]));
        assert_eq!(cut.header(3_000), None);
        let others: Vec<Part<'_>> = cut.others().collect();
        let whole: Vec<&[u8]> = others.iter().map(|it| it.bytes).collect();
        let whole = [vec![cut.first()], whole].concat().concat();
        assert_eq!(whole, text.as_bytes(), "nothing is lost");
        // 1998 rows stand in the first part, each on two lines, below two lines.
        assert_eq!(others[0].line, 2 + 2 * 1_998 + 1);
        assert!(others[0].bytes.starts_with(b"p-1998,"));
        assert_eq!((others.len(), others[1].done), (2, 4_000));
    }

    #[test]
    fn blank_lines_and_semicolons_are_passed_over() {
        let mut text = "part;note\n\n\n".to_owned();
        text.push_str(&"a;\"x\ny, z\"\n\n".repeat(2_500));
        let cut = Cut::of(text.as_bytes()).expect("it is cut");
        let part = cut.others().next().expect("a part");
        assert!(part.bytes.starts_with(b"a;\"x\n"));
        let before = &text[..text.len() - part.bytes.len()];
        assert_eq!(
            part.line,
            1 + u64::try_from(before.matches('\n').count()).unwrap()
        );
    }
}
