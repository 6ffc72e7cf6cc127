//! How a figure came to be what it is: a row of bars, and a sign of where it goes.

/// Bars from low to high.
const BARS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];

/// The latest samples as bars, scaled between their least and greatest, which are taken
/// to be at least `span` apart so that noise does not look like news.
#[must_use]
pub(super) fn bars(samples: &[f32], columns: usize, span: f32) -> String {
    let latest = &samples[samples.len().saturating_sub(columns)..];
    let finite = || latest.iter().copied().filter(|sample| sample.is_finite());
    let least = finite().fold(f32::INFINITY, f32::min);
    let greatest = finite().fold(f32::NEG_INFINITY, f32::max);
    let range = (greatest - least).max(span);
    latest
        .iter()
        .map(|sample| {
            let share = f64::from((sample - least) / range);
            BARS[usize::from(super::number::cells(share, 7))]
        })
        .collect()
}

/// Where a figure goes: over the last `over` s it rose or fell by at least `news`, or by
/// four times that.
#[must_use]
pub(super) fn arrow(samples: &[f32], every: f64, over: f64, news: f32) -> &'static str {
    let back = super::number::within(over / every.max(1e-3), 1.0, 1e6);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 1 and a million"
    )]
    let back = back as usize;
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
        assert_eq!(bars(&[0.0, 3.5, 7.0], 8, 1.0), "▁▅█");
        assert_eq!(bars(&[20.0, 20.1, 20.0], 8, 10.0), "▁▁▁");
        assert_eq!(bars(&[], 8, 1.0), "");
        assert_eq!(bars(&[1.0, f32::NAN], 8, 1.0).chars().count(), 2);
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
