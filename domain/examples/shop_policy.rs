//! The order points of a simulated shop, evening by evening: reads the protocol of
//! `tests/policy/shop_sim.py` line by line, asks the review of the domain, and answers. All of the
//! mathematics is in the library; here is only reading, naming and writing.
//!
//! ```sh
//! cargo build --release -p tigstock-domain --example shop_policy
//! tests/policy/run 40
//! ```

use std::error::Error;
use std::io::{self, BufRead, Write};

use serde_json::{Value, json};
use tigstock_domain::review::{Drivers, Shop, Use, Work};

/// Distributions are told up to where less than this is left.
const TAIL: f64 = 1e-9;

/// What the first line says, and the shop as it is known so far.
struct Reader {
    parts: Vec<String>,
    welders: Vec<String>,
    /// The group of each welder.
    groups: Vec<usize>,
    group_count: usize,
    /// For each part, the possible lead times in days with their chances.
    lead_times: Vec<Vec<(usize, f64)>>,
    service: f64,
    cover_days: usize,
    shop: Shop,
    closed: usize,
}

fn missing(what: &'static str) -> impl Fn() -> Box<dyn Error> {
    move || format!("the line has no {what}").into()
}

fn array<'a>(value: &'a Value, what: &'static str) -> Result<&'a Vec<Value>, Box<dyn Error>> {
    value[what].as_array().ok_or_else(missing(what))
}

fn text(value: &Value, what: &'static str) -> Result<String, Box<dyn Error>> {
    Ok(value[what].as_str().ok_or_else(missing(what))?.to_owned())
}

fn number(value: &Value, what: &'static str) -> Result<f64, Box<dyn Error>> {
    value.as_f64().ok_or_else(missing(what))
}

fn count(value: &Value, what: &'static str) -> Result<u64, Box<dyn Error>> {
    value.as_u64().ok_or_else(missing(what))
}

fn index(names: &[String], value: &Value) -> Result<usize, Box<dyn Error>> {
    let name = value.as_str().ok_or_else(missing("name"))?;
    let at = names.iter().position(|known| known == name);
    at.ok_or_else(|| format!("{name} was not named in the first line").into())
}

/// What drives a part, by its kind, which its name begins with: electrodes and collets by hours and
/// grinds, wheels by grinds, the rest by hours (common practice). How fast they wear is not assumed.
fn drivers(part: &str) -> Drivers {
    let is = |kind: &str| part.starts_with(kind);
    if is("grinding-disc") {
        Drivers::second_unknown()
    } else if is("tungsten") || (is("collet") && !is("collet-body")) {
        Drivers::both_unknown()
    } else {
        Drivers::first_unknown()
    }
}

impl Reader {
    fn new(first: &Value) -> Result<Self, Box<dyn Error>> {
        let names = |list: &[Value], what| -> Result<Vec<String>, Box<dyn Error>> {
            list.iter().map(|value| text(value, what)).collect()
        };
        let parts = names(array(first, "parts")?, "part")?;
        let welders = names(array(first, "welders")?, "welder")?;
        let of_welders = names(array(first, "welders")?, "group")?;
        let mut groups = of_welders.clone();
        groups.sort();
        groups.dedup();
        let suppliers = array(first, "suppliers")?;
        let mut lead_times = Vec::new();
        for supplier in array(first, "part_supplier")? {
            let supplier = usize::try_from(count(supplier, "part_supplier")?)?;
            let law = suppliers.get(supplier).ok_or_else(missing("supplier"))?;
            let law = law["lead_time_days"].as_object();
            let mut days = Vec::new();
            for (lead, chance) in law.ok_or_else(missing("lead_time_days"))? {
                // Until it is there and the next evening's order could be: one day of review more.
                days.push((lead.parse::<usize>()? + 1, number(chance, "chance")?));
            }
            lead_times.push(days);
        }
        let assumed: Vec<Drivers> = parts.iter().map(|part| drivers(part)).collect();
        Ok(Self {
            shop: Shop::new(&assumed, groups.len())?,
            groups: of_welders
                .iter()
                .map(|group| groups.iter().position(|known| known == group).unwrap_or(0))
                .collect(),
            group_count: groups.len(),
            service: number(&first["service"], "service")?,
            cover_days: usize::try_from(count(&first["cover_days"], "cover_days")?)?,
            parts,
            welders,
            lead_times,
            closed: 0,
        })
    }

    /// Hands every day up to this evening to the shop.
    fn close_days(&mut self, evening: &Value) -> Result<(), Box<dyn Error>> {
        let last = usize::try_from(count(&evening["day"], "day")?)?;
        let days = last + 1 - self.closed;
        let (mut work, mut uses) = (vec![Vec::new(); days], vec![Vec::new(); days]);
        let day_of = |row: &Value| -> Result<usize, Box<dyn Error>> {
            let day = usize::try_from(count(&row[0], "day")?)?;
            let new = day.checked_sub(self.closed).filter(|day| *day < days);
            new.ok_or_else(|| format!("day {day} is not one of the new ones").into())
        };
        for row in array(evening, "log")? {
            work[day_of(row)?].push(Work {
                group: self.groups[index(&self.welders, &row[1])?],
                first: number(&row[2], "arc hours")?,
                second: count(&row[3], "grinds")?,
            });
        }
        for row in array(evening, "use")? {
            uses[day_of(row)?].push(Use {
                group: self.groups[index(&self.welders, &row[1])?],
                part: index(&self.parts, &row[2])?,
                pieces: count(&row[3], "pieces")?,
            });
        }
        for (work, uses) in work.iter().zip(&uses) {
            self.shop.close_day(work, uses)?;
        }
        self.closed = last + 1;
        Ok(())
    }

    /// The hours of each group for each of the next days.
    fn plan(&self, evening: &Value) -> Result<Vec<Vec<f64>>, Box<dyn Error>> {
        let mut plan = Vec::new();
        for day in array(evening, "plan_hours")? {
            let mut hours = vec![0.0; self.group_count];
            let day = day.as_array().ok_or_else(missing("plan_hours"))?;
            for (group, planned) in self.groups.iter().zip(day) {
                hours[*group] += number(planned, "plan_hours")?;
            }
            plan.push(hours);
        }
        Ok(plan)
    }

    fn answer(&mut self, evening: &Value) -> Result<Value, Box<dyn Error>> {
        self.close_days(evening)?;
        let plan = self.plan(evening)?;
        let ahead = self.shop.review(&plan)?;
        let (mut levels, mut tables) = (Vec::new(), Vec::new());
        for (part, lead_time) in self.lead_times.iter().enumerate() {
            let uses = ahead.over_lead_time(part, lead_time.iter().copied())?;
            let cover = ahead.mean(part, self.cover_days)?;
            levels.push(json!([uses.quantile(self.service), cover]));
            if evening["want_cdf"].as_bool() == Some(true) {
                let month = ahead.over_lead_time(part, [(30, 1.0)])?;
                tables.push(month.cdf_table(TAIL, 100_000));
            }
        }
        Ok(json!({ "levels": levels, "cdf": tables }))
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut lines = io::stdin().lock().lines();
    let first = lines.next().ok_or("there is no first line")??;
    let mut reader = Reader::new(&serde_json::from_str(&first)?)?;
    let mut out = io::stdout().lock();
    for line in lines {
        let answer = reader.answer(&serde_json::from_str(&line?)?)?;
        writeln!(out, "{answer}")?;
        out.flush()?;
    }
    Ok(())
}
