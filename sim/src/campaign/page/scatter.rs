//! The margins as a plot: time to the reaction against time to harm had there been none.

use std::collections::BTreeMap;

use askama::Template;

use crate::campaign::record::{Outcome, Record, Ticks};

/// Size of the plot, in units of the drawing.
const WIDTH: f64 = 460.0;
const HEIGHT: f64 = 340.0;
const LEFT: f64 = 56.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 34.0;
const BOTTOM: f64 = 44.0;
/// Both axes go from one tick to 100 s, each decade as long as the others.
const DECADES: f64 = 4.0;
/// Cells nearer to one another than this are one dot, units of the drawing.
const RASTER: f64 = 3.0;

/// Dots of one look: place on the raster, and how many cells.
type Dots = BTreeMap<(i32, i32), u64>;

/// Cells for which harm threatened, by time to harm and time to the reaction.
#[derive(Clone, Debug, Default)]
pub(super) struct Scatter {
    harmed: Dots,
    unharmed: Dots,
    late: u64,
    unanswered: u64,
    cells: u64,
}

/// A dot as it is drawn.
struct Dot {
    x: String,
    y: String,
    radius: String,
    cells: u64,
}

/// A line of an axis, and its text.
struct Mark {
    at: String,
    text: &'static str,
}

#[derive(Template)]
#[template(path = "scatter.svg")]
struct Plot<'a> {
    id: &'a str,
    title: &'a str,
    words: String,
    harmed: Vec<Dot>,
    unharmed: Vec<Dot>,
    columns: Vec<Mark>,
    rows: Vec<Mark>,
}

/// How far along its axis a time lies, 0 to 1.
fn along(time: Ticks) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "ticks of a flight")]
    let ticks = time.0.max(1) as f64;
    (ticks.log10() / DECADES).min(1.0)
}

fn across(time: Ticks) -> f64 {
    LEFT + along(time) * (WIDTH - LEFT - RIGHT)
}

fn up(time: Ticks) -> f64 {
    HEIGHT - BOTTOM - along(time) * (HEIGHT - TOP - BOTTOM)
}

/// Where a cell without a reaction is drawn: above the axis.
const UNANSWERED: f64 = TOP - 14.0;

#[expect(clippy::cast_possible_truncation, reason = "places of a small drawing")]
fn raster(at: f64) -> i32 {
    (at / RASTER).round() as i32
}

impl Scatter {
    /// Adds one record; `harm`: when harm came with the reaction withheld.
    pub(super) fn see(&mut self, record: &Record, harm: Option<Ticks>) {
        let Some(harm) = harm else { return };
        self.cells += 1;
        let y = match record.reacted_after {
            Some(reaction) => {
                self.late += u64::from(reaction >= harm);
                up(reaction)
            }
            None => {
                self.unanswered += 1;
                UNANSWERED
            }
        };
        let dots = if record.outcome == Outcome::Harm {
            &mut self.harmed
        } else {
            &mut self.unharmed
        };
        *dots.entry((raster(across(harm)), raster(y))).or_default() += 1;
    }

    /// The plot.
    pub(super) fn plot(&self, id: &str, title: &str) -> askama::Result<String> {
        let harmed: u64 = self.harmed.values().sum();
        let words = format!(
            "{} cells in which harm came with the reaction withheld; {} of them came to harm \
             with it too. In {} the reaction came no sooner than that harm, in {} there was none.",
            self.cells, harmed, self.late, self.unanswered
        );
        let marks = || {
            [
                (1, "0.01"),
                (10, "0.1"),
                (100, "1"),
                (1_000, "10"),
                (10_000, "100"),
            ]
        };
        let mark = |at: f64, text| Mark {
            at: format!("{at:.1}"),
            text,
        };
        Plot {
            id,
            title,
            words,
            harmed: dots(&self.harmed),
            unharmed: dots(&self.unharmed),
            columns: marks()
                .map(|(ticks, text)| mark(across(Ticks(ticks)), text))
                .into(),
            rows: marks()
                .map(|(ticks, text)| mark(up(Ticks(ticks)), text))
                .into(),
        }
        .render()
    }
}

fn dots(dots: &Dots) -> Vec<Dot> {
    dots.iter()
        .map(|((x, y), cells)| {
            #[expect(clippy::cast_precision_loss, reason = "counts of cells")]
            let radius = 1.6 + (*cells as f64).log10();
            Dot {
                x: format!("{:.0}", f64::from(*x) * RASTER),
                y: format!("{:.0}", f64::from(*y) * RASTER),
                radius: format!("{radius:.1}"),
                cells: *cells,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_at_one_place_are_one_dot_and_a_late_reaction_is_counted() {
        let mut scatter = Scatter::default();
        let cell = |reaction, outcome| Record {
            reacted_after: reaction,
            outcome,
            ..Record::example()
        };
        let harm = Some(Ticks(100));
        scatter.see(&cell(Some(Ticks(10)), Outcome::Detected), harm);
        scatter.see(&cell(Some(Ticks(10)), Outcome::Detected), harm);
        scatter.see(&cell(Some(Ticks(200)), Outcome::Harm), harm);
        scatter.see(&cell(None, Outcome::Undetected), harm);
        scatter.see(&cell(Some(Ticks(10)), Outcome::Detected), None);
        assert_eq!((scatter.cells, scatter.late, scatter.unanswered), (4, 1, 1));
        assert_eq!(scatter.unharmed.len(), 2);
        let svg = scatter.plot("p", "A title").expect("a plot");
        assert!(svg.contains("4 cells in which harm came"), "{svg}");
    }
}
