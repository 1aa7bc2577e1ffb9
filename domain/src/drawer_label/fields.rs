//! The fields that the kind of a part has, from the words of its label.

use super::sizes;
use super::words::{Figure, Oxide, Said, Word};
use super::{Field, Fields, Proposal, Question};
use crate::class::ElectrodeClass;
use crate::part::{Arrangement, BodyFamily, CapLength, ColletLength, CupSeat, PartKind};
use crate::size::{CupNumber, Diameter};

/// What a label says, sorted; what a field takes is gone from here.
#[derive(Debug, Default)]
pub(super) struct Heard {
    pub(super) figures: Vec<Figure>,
    pub(super) dates: Vec<String>,
    numbers: Vec<String>,
    percents: Vec<String>,
    classes: Vec<(ElectrodeClass, String)>,
    colours: Vec<(String, &'static str)>,
    oxides: Vec<(Oxide, String)>,
    classifications: Vec<String>,
    designations: Vec<String>,
    said: Vec<Said>,
    others: Vec<String>,
}

impl Heard {
    fn of(words: Vec<Word>) -> Self {
        let mut heard = Self::default();
        for word in words {
            match word {
                Word::Figure(figure) => heard.figures.push(figure),
                Word::Number(number) => heard.numbers.push(number),
                Word::Percent(share) => heard.percents.push(share.replace(',', ".")),
                Word::Class(class, written) => heard.classes.push((class, written)),
                Word::Colour(colour, meanings) => heard.colours.push((colour, meanings)),
                Word::Oxide(oxide, word) => heard.oxides.push((oxide, word)),
                Word::Classification(it) => heard.classifications.push(it),
                Word::Designation(it) => heard.designations.push(it),
                Word::Date(why) => heard.dates.push(why),
                Word::Said(said, _) => heard.said.push(said),
                Word::Other(word) => heard.others.push(word),
            }
        }
        heard
    }

    fn says(&self, said: Said) -> bool {
        self.said.contains(&said)
    }
}

impl Proposal {
    pub(super) fn ask(&mut self, field: Field, asks: impl Into<String>) {
        let asks = asks.into();
        self.questions.push(Question { field, asks });
    }
}

/// The proposal. A field that was told stands, and nothing is asked of it.
pub(super) fn proposed(
    words: Vec<Word>,
    kind: Result<PartKind, String>,
    told: &Fields,
) -> Proposal {
    let mut heard = Heard::of(words);
    let mut proposal = Proposal {
        fields: told.clone(),
        ..Proposal::default()
    };
    match kind {
        Ok(kind) => {
            proposal.fields.kind = Some(kind);
            of_kind(kind, &mut heard, &mut proposal);
        }
        Err(asks) => {
            proposal.ask(Field::Kind, asks);
            // What is understood all the same need not be written again.
            sizes::diameter(&mut heard, &mut proposal, false);
            family(&heard, &mut proposal);
        }
    }
    left_over(heard, &mut proposal, told);
    proposal.questions.retain(|it| !is_told(told, it.field));
    proposal
}

fn of_kind(kind: PartKind, heard: &mut Heard, proposal: &mut Proposal) {
    match kind {
        PartKind::Electrode => {
            class(heard, proposal);
            let written = sizes::diameter(heard, proposal, true);
            sizes::rod_length(heard, proposal);
            proposal.marking = marking(heard, written.as_deref());
        }
        PartKind::Collet => {
            sizes::diameter(heard, proposal, true);
            collet_length(heard, proposal);
        }
        PartKind::ColletBody | PartKind::GasLens => {
            sizes::diameter(heard, proposal, true);
            arrangement(kind, heard, proposal);
        }
        PartKind::Cup => {
            cup_number(heard, proposal);
            seat(heard, proposal);
        }
        PartKind::BackCap => cap_length(heard, proposal),
        PartKind::Insulator => arrangement(kind, heard, proposal),
        PartKind::ORing => {}
        PartKind::TungstenWheel => heard.figures.clear(),
        PartKind::ShieldingGas => mixture(heard, proposal),
        PartKind::FillerRod => {
            sizes::diameter(heard, proposal, true);
            sizes::filler_length(heard, proposal);
            classification(heard, proposal);
        }
    }
    if kind.is_fitted() && kind != PartKind::Electrode {
        family(heard, proposal);
        if proposal.fields.family.is_none() {
            proposal.ask(Field::Family, family_question(kind, heard));
        }
    }
}

/// What is printed, where it is not in the words of ISO 6848.
fn marking(heard: &Heard, diameter: Option<&str>) -> Option<String> {
    let (_, class) = heard.classes.first()?;
    let diameter = diameter?;
    let is_other = ElectrodeClass::is_aws_spelling(class) || Diameter::is_inch_marking(diameter);
    is_other.then(|| format!("{diameter} {class}"))
}

fn class(heard: &Heard, proposal: &mut Proposal) {
    let mut named: Vec<ElectrodeClass> = heard.classes.iter().map(|it| it.0).collect();
    let shares = heard.percents.iter();
    let shared = heard
        .oxides
        .iter()
        .filter_map(|it| of_share(it.0, shares.clone()));
    named.extend(shared);
    named.sort_unstable();
    named.dedup();
    if let [class] = *named {
        let of_oxide = |it: &&(Oxide, String)| !classes_of(it.0).contains(&class);
        if let Some((_, word)) = heard.oxides.iter().find(of_oxide) {
            let asks = format!("{class} is not {word}: which is printed on the packet?");
            return proposal.ask(Field::Class, asks);
        }
        proposal.fields.class.get_or_insert(class);
        return;
    }
    let asks = match (
        named.as_slice(),
        heard.oxides.first(),
        heard.colours.first(),
    ) {
        ([_, _, ..], _, _) => {
            let named: Vec<&str> = named.iter().map(|it| it.symbol()).collect();
            format!("which class: {}?", named.join(" or "))
        }
        (_, Some((oxide, word)), colour) => {
            let classes: Vec<&str> = classes_of(*oxide).iter().map(|it| it.symbol()).collect();
            let colour = colour.map(no_identity);
            format!(
                "which class is printed on the packet? {word} may be {}{}",
                classes.join(", "),
                colour.map_or_else(String::new, |it| format!("; {it}"))
            )
        }
        (_, None, Some(colour)) => format!(
            "which class is printed on the packet? {}; write unidentified if the packet is gone",
            no_identity(colour)
        ),
        (_, None, None) => {
            "which class is printed on the packet, such as WLa20? Write unidentified if it is gone"
                .to_owned()
        }
    };
    proposal.ask(Field::Class, asks);
}

fn no_identity((colour, meanings): &(String, &'static str)) -> String {
    format!("a colour is no identity: {colour} may mean {meanings}")
}

/// The classes that an oxide leaves open.
const fn classes_of(oxide: Oxide) -> &'static [ElectrodeClass] {
    use ElectrodeClass as C;
    match oxide {
        Oxide::None => &[C::Wp],
        Oxide::Ceria => &[C::WCe20],
        Oxide::Lanthana => &[C::WLa10, C::WLa15, C::WLa20],
        Oxide::Thoria => &[C::WTh10, C::WTh20, C::WTh30],
        Oxide::Zirconia => &[C::WZr3, C::WZr8],
        Oxide::Mixed => &[C::Wg],
    }
}

/// The class of an oxide and its share. Pure tungsten is one class; of the others a word alone names none, even where a
/// standard has one only, since electrodes are sold that no standard names.
fn of_share<'s>(oxide: Oxide, shares: impl Iterator<Item = &'s String>) -> Option<ElectrodeClass> {
    use ElectrodeClass as C;
    if oxide == Oxide::None {
        return Some(C::Wp);
    }
    shares.into_iter().find_map(|share| {
        Some(match (oxide, share.as_str()) {
            (Oxide::Ceria, "2" | "2.0") => C::WCe20,
            (Oxide::Lanthana, "1" | "1.0") => C::WLa10,
            (Oxide::Lanthana, "1.5") => C::WLa15,
            (Oxide::Lanthana, "2" | "2.0") => C::WLa20,
            (Oxide::Thoria, "1" | "1.0") => C::WTh10,
            (Oxide::Thoria, "2" | "2.0") => C::WTh20,
            (Oxide::Thoria, "3" | "3.0") => C::WTh30,
            (Oxide::Zirconia, "0.3") => C::WZr3,
            (Oxide::Zirconia, "0.8") => C::WZr8,
            _ => return None,
        })
    })
}

fn collet_length(heard: &Heard, proposal: &mut Proposal) {
    if heard.says(Said::Short) || heard.says(Said::ShortNose) {
        proposal
            .fields
            .collet_length
            .get_or_insert(ColletLength::Short);
    } else if heard.says(Said::LargeGasLens) {
        let asks = "is it the short collet, as most large gas lenses take (short), or the standard one (standard)?";
        proposal.ask(Field::Length, asks);
    } else if proposal.fields.collet_length.is_none() {
        proposal.fields.collet_length = Some(ColletLength::Standard);
        if !heard.says(Said::Standard) {
            let note = "taken as the standard collet, since it does not say short";
            proposal.notes.push(note.to_owned());
        }
    }
}

fn cap_length(heard: &Heard, proposal: &mut Proposal) {
    let named = [
        (Said::Short, CapLength::Short),
        (Said::Medium, CapLength::Medium),
        (Said::Long, CapLength::Long),
    ];
    let named: Vec<CapLength> = named
        .into_iter()
        .filter(|(said, _)| heard.says(*said))
        .map(|it| it.1)
        .collect();
    if let [length] = *named {
        proposal.fields.cap_length.get_or_insert(length);
    } else {
        proposal.ask(
            Field::Length,
            "how long is the back cap: short, medium or long? Large and small do not tell",
        );
    }
}

fn arrangement(kind: PartKind, heard: &Heard, proposal: &mut Proposal) {
    let is_lens = kind == PartKind::GasLens || heard.says(Said::GasLens);
    let named = if heard.says(Said::ShortNose) {
        Some(Arrangement::ShortNose)
    } else if heard.says(Said::LargeGasLens) {
        Some(Arrangement::LargeGasLens)
    } else if is_lens && heard.says(Said::Short) {
        None
    } else if is_lens {
        let is_unsure = heard.says(Said::Large) || heard.says(Said::Small);
        (!is_unsure).then_some(Arrangement::GasLens)
    } else if heard.says(Said::Short) {
        None
    } else if kind == PartKind::ColletBody || heard.says(Said::Standard) {
        Some(Arrangement::Standard)
    } else {
        None
    };
    match named {
        Some(named) => {
            proposal.fields.arrangement.get_or_insert(named);
        }
        None => proposal.ask(Field::Arrangement, arrangement_question(kind)),
    }
}

fn arrangement_question(kind: PartKind) -> &'static str {
    if kind == PartKind::ColletBody {
        "does it belong to the standard arrangement (standard) or to a short nose (short-nose)?"
    } else if kind == PartKind::GasLens {
        "is it the usual gas lens (gas-lens), the one of large diameter (large-gas-lens), or one for a short nose \
         (short-nose)? Large and small alone may mean the torch body"
    } else {
        "what does it seat in: standard, gas-lens, large-gas-lens or short-nose? Each has an insulator of its own"
    }
}

fn cup_number(heard: &mut Heard, proposal: &mut Proposal) {
    let mut named = Vec::new();
    let mut wrong = None;
    let numbers = std::mem::take(&mut heard.numbers);
    for number in &numbers {
        match CupNumber::parse(number) {
            Ok(cup) => named.push(cup),
            Err(why) => wrong = Some(why.to_string()),
        }
    }
    heard.figures.retain(|figure| {
        let cup = CupNumber::parse(&figure.written());
        named.extend(cup.as_ref().ok());
        cup.is_err()
    });
    named.sort_unstable();
    named.dedup();
    if let ([cup], None) = (named.as_slice(), &wrong) {
        proposal.fields.cup.get_or_insert(*cup);
        return;
    }
    let dates = std::mem::take(&mut heard.dates);
    let asks = match (dates.first(), wrong) {
        (Some(_), _) => "which number has the cup? A fraction was turned into a date by the spreadsheet; write the \
                         number, such as 7, or the bore as 7/16in"
            .to_owned(),
        (None, Some(wrong)) => wrong,
        (None, None) if named.len() > 1 => {
            let named: Vec<String> = named.iter().map(ToString::to_string).collect();
            format!("which number has the cup: {}?", named.join(" or "))
        }
        (None, None) => "which number has the cup, such as 7? If none is on it, measure its bore, such as 11 mm".to_owned(),
    };
    proposal.ask(Field::CupNumber, asks);
}

fn seat(heard: &Heard, proposal: &mut Proposal) {
    let named = if heard.says(Said::LargeGasLens) {
        Some(CupSeat::LargeGasLens)
    } else if heard.says(Said::GasLens) && !heard.says(Said::Large) {
        Some(CupSeat::GasLens)
    } else if heard.says(Said::Standard) || heard.says(Said::ColletBody) {
        Some(CupSeat::Standard)
    } else {
        None
    };
    match named {
        Some(named) => {
            proposal.fields.seat.get_or_insert(named);
        }
        None => proposal.ask(
            Field::Seat,
            "what does the cup seat on: the collet body (standard), the gas lens (gas-lens) or the large gas lens \
             (large-gas-lens)? The number alone does not tell",
        ),
    }
}

/// Large and small tell the torch body where the part has no other large and small of its own.
fn family(heard: &Heard, proposal: &mut Proposal) {
    let means_body = match proposal.fields.kind {
        Some(PartKind::Collet | PartKind::ColletBody | PartKind::ORing) => true,
        Some(PartKind::BackCap) => proposal.fields.cap_length.is_some(),
        _ => false,
    };
    let has = |body: Said, alone: Said| heard.says(body) || (means_body && heard.says(alone));
    let named = match (
        has(Said::LargeBody, Said::Large),
        has(Said::SmallBody, Said::Small),
    ) {
        (true, false) => Some(BodyFamily::Large),
        (false, true) => Some(BodyFamily::Small),
        (true, true) | (false, false) => None,
    };
    if proposal.fields.family.is_none() {
        proposal.fields.family = named;
    }
}

fn family_question(kind: PartKind, heard: &Heard) -> String {
    let noun = kind.noun();
    let unsure = if heard.says(Said::Large) || heard.says(Said::Small) {
        format!(" Of a {noun} large and small alone do not tell")
    } else {
        String::new()
    };
    format!("which torch body does it go by: large or small?{unsure}")
}

fn mixture(heard: &mut Heard, proposal: &mut Proposal) {
    let named = std::mem::take(&mut heard.designations);
    let is_argon = heard.says(Said::Argon) && heard.figures.is_empty() && heard.others.is_empty();
    match named.first() {
        Some(named) => {
            proposal
                .fields
                .composition
                .get_or_insert_with(|| named.clone());
        }
        None if is_argon && proposal.fields.composition.is_none() => {
            proposal.fields.composition = Some("I1".to_owned());
            let note = "argon alone was taken as I1 of ISO 14175";
            proposal.notes.push(note.to_owned());
        }
        None => proposal.ask(
            Field::Composition,
            "which mixture? Write its designation by ISO 14175, such as I1 for argon",
        ),
    }
}

fn classification(heard: &mut Heard, proposal: &mut Proposal) {
    let named = std::mem::take(&mut heard.classifications);
    match named.as_slice() {
        [named] => {
            proposal
                .fields
                .composition
                .get_or_insert_with(|| named.clone());
        }
        _ => proposal.ask(
            Field::Composition,
            "which classification is printed on the rod or its packet, such as ER70S-2?",
        ),
    }
}

/// What no field has taken. A figure may matter, so it is asked about unless somebody has told the kind; a word is
/// only told.
fn left_over(heard: Heard, proposal: &mut Proposal, told: &Fields) {
    let is_electrode = proposal.fields.kind == Some(PartKind::Electrode);
    let mut left: Vec<String> = heard.figures.iter().map(Figure::written).collect();
    left.extend(heard.numbers.into_iter().map(|it| format!("#{it}")));
    if !is_electrode {
        left.extend(heard.percents.into_iter().map(|it| format!("{it}%")));
    }
    left.extend(heard.classifications);
    left.extend(heard.designations);
    left.extend(heard.others);
    for why in heard.dates {
        let field = if proposal.fields.kind == Some(PartKind::Cup) {
            Field::CupNumber
        } else {
            Field::Diameter
        };
        proposal.ask(field, why);
    }
    let figures: Vec<&str> = left
        .iter()
        .map(String::as_str)
        .filter(|it| it.bytes().any(|byte| byte.is_ascii_digit()))
        .collect();
    if !figures.is_empty() && told.kind.is_none() && proposal.questions.is_empty() {
        let asks = format!(
            "what does {} mean? Write the kind if the rest is right as it is",
            figures.join(", ")
        );
        proposal.ask(Field::Kind, asks);
    }
    proposal.not_understood = left;
}

const fn is_told(told: &Fields, field: Field) -> bool {
    match field {
        Field::Kind => told.kind.is_some(),
        Field::Class => told.class.is_some(),
        Field::Diameter => told.diameter.is_some(),
        Field::Length => {
            told.rod_length.is_some() || told.collet_length.is_some() || told.cap_length.is_some()
        }
        Field::Family => told.family.is_some(),
        Field::Arrangement => told.arrangement.is_some(),
        Field::CupNumber => told.cup.is_some(),
        Field::Seat => told.seat.is_some(),
        Field::Composition => told.composition.is_some(),
    }
}
