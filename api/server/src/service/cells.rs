//! One figure as text, for one cell of a spreadsheet.

use chrono::{NaiveDate, NaiveDateTime};
use types::{
    BuyLine, CellFigure, GetBuyList, GetCell, GetForecastsAhead, GetNeeds, GetStock, Needs, Stock,
    Violation,
};

use super::{Context, Error, ahead, looks, needs, stock};

/// What is told where no day can be.
const LATER: &str = "later";
const NOTHING_TO_ORDER: &str = "nothing to order";

/// Of what a figure is asked.
enum Of<'q> {
    Part(&'q str),
    Job(&'q str),
    Course(&'q str),
}

/// The figure of a part, a job or a course.
///
/// # Errors
/// Not one of part, job and course, a figure that it does not have, or a code that names nothing.
pub async fn get(context: &Context, figure: CellFigure, query: &GetCell) -> Result<String, Error> {
    match (figure, asked(query)?) {
        (CellFigure::Available, Of::Part(part)) => {
            Ok(of_stock(context, part, query).await?.available.to_string())
        }
        (CellFigure::OnHand, Of::Part(part)) => {
            Ok(of_stock(context, part, query).await?.on_hand.to_string())
        }
        (CellFigure::OnOrder, Of::Part(part)) => {
            Ok(of_stock(context, part, query).await?.on_order.to_string())
        }
        (CellFigure::OrderPoint, Of::Part(part)) => {
            Ok(watched(context, part, query).await?.order_point.to_string())
        }
        (CellFigure::RunOut, Of::Part(part)) => run_out(context, part, query).await,
        (CellFigure::Chance, Of::Part(part)) => {
            let short = watched(context, part, query).await?.chance;
            Ok((1.0 - short).to_string())
        }
        (CellFigure::OrderBy, Of::Part(part)) => {
            let line = watched(context, part, query).await?;
            Ok(by(line.purchase.and_then(|it| it.order_by)))
        }
        (CellFigure::Chance, work) => Ok(of_work(context, &work).await?.chance_now.to_string()),
        (CellFigure::OrderBy, work) => {
            let orders = of_work(context, &work).await?.orders;
            Ok(by(orders.iter().map(|order| order.order_by).min()))
        }
        (
            CellFigure::Available
            | CellFigure::OnHand
            | CellFigure::OnOrder
            | CellFigure::OrderPoint
            | CellFigure::RunOut,
            Of::Job(_) | Of::Course(_),
        ) => Err(invalid("?part", "this figure is of a part; name one")),
    }
}

fn asked(query: &GetCell) -> Result<Of<'_>, Error> {
    match (&query.part, &query.job, &query.course) {
        (Some(part), None, None) => Ok(Of::Part(part)),
        (None, Some(job), None) => Ok(Of::Job(job)),
        (None, None, Some(course)) => Ok(Of::Course(course)),
        _ => Err(invalid("?part", "name one part, one job or one course")),
    }
}

fn invalid(pointer: &str, why: &str) -> Error {
    Error::Invalid(vec![Violation::new(pointer, why)])
}

async fn of_stock(context: &Context, part: &str, query: &GetCell) -> Result<Stock, Error> {
    let query = GetStock {
        site: query.site.clone(),
        ..GetStock::default()
    };
    stock::get(context, part, &query).await
}

/// What is watched of a part.
async fn watched(context: &Context, part: &str, query: &GetCell) -> Result<BuyLine, Error> {
    let query = GetBuyList {
        site: query.site.clone(),
        part: Some(part.to_owned()),
        all: true,
    };
    let told = looks::buy_list(context, &query).await?;
    // The part for itself, before others that are watched with it.
    let mut lines = told.lines;
    lines.sort_by_key(|line| line.part.is_none());
    lines.into_iter().next().ok_or_else(|| {
        let why = format!(
            "{part} is not watched there, or was never counted; count it, or set a watch on it"
        );
        Error::WrongState(why)
    })
}

async fn run_out(context: &Context, part: &str, query: &GetCell) -> Result<String, Error> {
    let query = GetForecastsAhead {
        part: Some(part.to_owned()),
        site: query.site.clone(),
        ..GetForecastsAhead::default()
    };
    let told = ahead::get(context, &query).await?;
    let Some(forecast) = told.forecasts.first() else {
        let why = told.cannot_tell.first().map(|it| it.why.clone());
        return Err(Error::WrongState(why.unwrap_or_default()));
    };
    let day = |day: Option<NaiveDate>| day.map_or_else(|| LATER.to_owned(), |day| day.to_string());
    let (early, late) = (day(forecast.run_out.early), day(forecast.run_out.late));
    Ok(if early == LATER {
        early
    } else {
        format!("{early} to {late}")
    })
}

async fn of_work(context: &Context, work: &Of<'_>) -> Result<Needs, Error> {
    let query = GetNeeds::default();
    match work {
        Of::Course(course) => Ok(needs::get_course(context, course, &query).await?.needs),
        Of::Job(job) | Of::Part(job) => needs::get(context, job, &query).await,
    }
}

fn by(by: Option<NaiveDateTime>) -> String {
    by.map_or_else(
        || NOTHING_TO_ORDER.to_owned(),
        |by| by.format("%Y-%m-%d %H:%M").to_string(),
    )
}
