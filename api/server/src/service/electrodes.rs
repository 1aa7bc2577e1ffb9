//! Advice on electrodes for a current: the shop's own bands first, published tables beside them. It
//! is always advice; what a written procedure fixes is not asked here.

use domain::advice::{self, Cell, Group, Judgement, Position, TableVerdict, Verdict, best, judge};
use domain::safety::{About, Moment, cautions_at};
use domain::size::Diameter;
use types::{
    BandVerdict, CurrentTableVerdict, ElectrodeAdvice, ElectrodeQuestion, ElectrodeVerdict,
    GetElectrodeAdvice, PostFlow,
};

use super::current_bands::{self, Own};
use super::{Context, Error};

mod front_end;
mod words;

/// What tables and bands say of one diameter in one column.
struct Judged<'b> {
    told: Judgement,
    own: Option<(&'b Own, Position)>,
    favoured: bool,
}

impl Judged<'_> {
    /// Its place among others: what is favoured first, then by what is said of it.
    fn rank(&self) -> (bool, Verdict, i64, Group) {
        let verdict = match self.own {
            Some((_, Position::Inside)) => Verdict::InsideAll,
            Some((_, Position::Below | Position::Above | Position::NotUsed)) => Verdict::OutsideAll,
            None => self.told.verdict,
        };
        let diameter = self.told.diameter.um();
        (!self.favoured, verdict, diameter, self.told.group)
    }
}

/// Advice for a current.
pub async fn advise(
    context: &Context,
    query: &GetElectrodeAdvice,
) -> Result<ElectrodeAdvice, Error> {
    let asked = query.check().map_err(Error::in_query)?;
    let bands = current_bands::of_setting(context.store.read(), asked.setting).await?;
    let mut judged: Vec<Judged<'_>> = Vec::new();
    for group in Group::of(asked.class) {
        judged.extend(column(&asked, *group, &bands));
    }
    judged.sort_by_key(Judged::rank);
    let mut recommended: Vec<Diameter> = judged
        .iter()
        .filter(|row| row.favoured)
        .map(|row| row.told.diameter)
        .collect();
    recommended.sort_unstable();
    recommended.dedup();
    let detailed = asked
        .diameter
        .map_or_else(|| recommended.clone(), |diameter| vec![diameter]);
    let says = words::says(&asked, &judged, &recommended);
    judged.retain(|row| asked.diameter.is_none_or(|one| one == row.told.diameter));
    let about = About::classes(asked.class);
    Ok(ElectrodeAdvice {
        amps: asked.current.amps(),
        polarity: asked.setting.polarity().as_str().to_owned(),
        wave: asked.setting.wave().map(|wave| wave.as_str().to_owned()),
        class: asked.class.map(|class| class.symbol().to_owned()),
        recommended: recommended.iter().map(ToString::to_string).collect(),
        verdicts: judged.iter().map(|row| verdict(row, &asked)).collect(),
        diameters: detailed
            .into_iter()
            .map(|diameter| front_end::of(diameter, &asked))
            .collect(),
        post_flow: PostFlow {
            seconds: advice::post_flow_seconds(asked.current),
            rule: advice::POST_FLOW_RULE.to_owned(),
        },
        says,
        assumes: words::assumes(&asked, &bands),
        cautions: cautions_at(&[Moment::ElectrodeAdvice], &about),
        as_of: context.clock.now(),
    })
}

/// Every named diameter in one column. What is inside a band of the shop is favoured; only if
/// nothing is, what the tables favour of the diameters that have no band.
fn column<'b>(asked: &ElectrodeQuestion, group: Group, bands: &'b [Own]) -> Vec<Judged<'b>> {
    let judged = Diameter::ALL.into_iter().map(|diameter| {
        let own = band_for(asked, diameter, bands);
        Judged {
            told: judge(asked.current, diameter, asked.setting, group),
            own: own.map(|own| (own, own.band.position(asked.current))),
            favoured: false,
        }
    });
    let mut judged: Vec<Judged<'_>> = judged.collect();
    let is_inside = |row: &Judged<'_>| matches!(row.own, Some((_, Position::Inside)));
    let favoured: Vec<Diameter> = if judged.iter().any(is_inside) {
        let inside = judged.iter().filter(|row| is_inside(row));
        inside.map(|row| row.told.diameter).collect()
    } else {
        let free = judged.iter().filter(|row| row.own.is_none());
        let free: Vec<Judgement> = free.map(|row| row.told.clone()).collect();
        best(&free).iter().map(|told| told.diameter).collect()
    };
    for row in &mut judged {
        row.favoured = favoured.contains(&row.told.diameter);
    }
    judged
}

/// The band of the shop for a diameter: that of the class, else that of any class.
fn band_for<'b>(
    asked: &ElectrodeQuestion,
    diameter: Diameter,
    bands: &'b [Own],
) -> Option<&'b Own> {
    let of_size = || bands.iter().filter(|own| own.diameter == diameter);
    of_size()
        .find(|own| own.class.is_some() && own.class == asked.class)
        .or_else(|| of_size().find(|own| own.class.is_none()))
}

fn verdict(row: &Judged<'_>, asked: &ElectrodeQuestion) -> ElectrodeVerdict {
    ElectrodeVerdict {
        diameter: row.told.diameter.to_string(),
        column: row.told.group.as_str().to_owned(),
        verdict: row.told.verdict.as_str().to_owned(),
        shop_band: row.own.map(|(own, position)| BandVerdict {
            amps_min: own.band.low(),
            amps_max: own.band.high(),
            class: own.class.map(|class| class.symbol().to_owned()),
            source: own.source.clone(),
            position: position.as_str().to_owned(),
        }),
        tables: row.told.tables.iter().map(table).collect(),
        recommended: row.favoured,
        says: words::row(row, asked),
    }
}

fn table(told: &TableVerdict) -> CurrentTableVerdict {
    let (amps_low, amps_high) = match told.cell {
        Cell::Range(low, high) => (Some(low), Some(high)),
        Cell::UpTo(high) => (None, Some(high)),
        Cell::NotUsed | Cell::Absent => (None, None),
    };
    CurrentTableVerdict {
        table: told.table.name.to_owned(),
        amps_low,
        amps_high,
        position: told.position.as_str().to_owned(),
        note: told.table.note.map(str::to_owned),
    }
}
