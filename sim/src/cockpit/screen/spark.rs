//! How a figure came to be what it is: a row of bars, and a sign of where it goes.

/// Bars from low to high.
const BARS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];

/// How far back the bars reach, s.
const REACH: f64 = 60.0;

/// The samples of the last minute as bars, scaled between their least and greatest, which
/// are taken to be at least `span` apart so that noise does not look like news.
pub(super) fn bars(samples: &[f32], every: f64, columns: usize, span: f32) -> String {
    let latest = &samples[samples.len().saturating_sub(samples_in(REACH, every))..];
    let finite = || latest.iter().copied().filter(|sample| sample.is_finite());
    let least = finite().fold(f32::INFINITY, f32::min);
    let greatest = finite().fold(f32::NEG_INFINITY, f32::max);
    let range = (greatest - least).max(span);
    let columns = columns.min(latest.len());
    (1..=columns)
        .filter_map(|column| latest.get(column * latest.len() / columns - 1))
        .map(|sample| {
            let share = f64::from((sample - least) / range);
            BARS[usize::from(crate::report::number::cells(share, 7))]
        })
        .collect()
}

/// Samples in so many seconds, at least one.
fn samples_in(seconds: f64, every: f64) -> usize {
    let count = crate::report::number::within(seconds / every.max(1e-3), 1.0, 1e6);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 1 and a million"
    )]
    let count = count as usize;
    count
}

/// Where a figure goes: over the last `over` s it rose or fell by at least `news`, or by
/// four times that.
#[must_use]
pub(super) fn arrow(samples: &[f32], every: f64, over: f64, news: f32) -> &'static str {
    let back = samples_in(over, every);
    let (Some(now), Some(then)) = (
        samples.last(),
        samples.get(samples.len().saturating_sub(back + 1)),
    ) else {
        return " ";
    };
    let change = now - then;
    if change >= 4.0 * news {
        "⇈"
    } else if change >= news {
        "↑"
    } else if change <= -4.0 * news {
        "⇊"
    } else if change <= -news {
        "↓"
    } else {
        "→"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_rise_with_the_samples_and_noise_stays_low() {
        assert_eq!(bars(&[0.0, 3.5, 7.0], 1.0, 8, 1.0), "▁▅█");
        assert_eq!(bars(&[20.0, 20.1, 20.0], 1.0, 8, 10.0), "▁▁▁");
        assert_eq!(bars(&[], 1.0, 8, 1.0), "");
        let minutes: Vec<f32> = (0u8..120).map(f32::from).collect();
        assert_eq!(bars(&minutes, 1.0, 4, 1.0), "▃▄▆█", "the last 60 of 120 s");
        assert_eq!(bars(&[1.0, f32::NAN], 1.0, 8, 1.0).chars().count(), 2);
    }

    #[test]
    fn an_arrow_points_where_the_figure_goes() {
        let rising: Vec<f32> = (0u8..20).map(f32::from).collect();
        assert_eq!(arrow(&rising, 1.0, 10.0, 5.0), "↑");
        assert_eq!(arrow(&rising, 1.0, 10.0, 2.0), "⇈");
        assert_eq!(arrow(&rising, 1.0, 10.0, 50.0), "→");
        let falling: Vec<f32> = rising.iter().rev().copied().collect();
        assert_eq!(arrow(&falling, 1.0, 10.0, 5.0), "↓");
        assert_eq!(arrow(&[], 1.0, 10.0, 5.0), " ");
        assert_eq!(arrow(&[1.0], f64::NAN, 10.0, 5.0), "→");
    }
}
