//! Lengths as people write them: `24 in`, `60cm`, `2'`, `9 1/2 in`.

/// Metres in each unit that is understood, longest name first.
const UNITS: &[(&str, f64)] = &[
    ("inches", 0.0254),
    ("inch", 0.0254),
    ("feet", 0.3048),
    ("foot", 0.3048),
    ("mm", 0.001),
    ("cm", 0.01),
    ("in", 0.0254),
    ("ft", 0.3048),
    ("m", 1.0),
    ("\"", 0.0254),
    ("″", 0.0254),
    ("'", 0.3048),
    ("′", 0.3048),
];

/// Reads a length with its unit, in metres. Feet and inches may follow each
/// other, and a fraction may follow a whole number.
///
/// # Errors
/// In words, when a number or its unit is missing or unknown.
///
/// # Example
/// ```
/// assert_eq!(method::length::parse("60cm"), Ok(0.6));
/// assert!((method::length::parse("2' 6 1/2\"").expect("a length") - 0.7747).abs() < 1e-12);
/// assert!(method::length::parse("60").is_err());
/// ```
///
/// # Source
/// 1 in = 25.4 mm and 1 ft = 12 in exactly (international yard and pound agreement, 1959).
pub fn parse(text: &str) -> Result<f64, String> {
    let mut rest = text.trim();
    let negative = rest.starts_with('-');
    rest = rest.trim_start_matches('-').trim_start();
    if rest.is_empty() {
        return Err("an empty text is no length".to_owned());
    }
    let mut sum_m = 0.0;
    while !rest.is_empty() {
        let (number, after) = number(rest).ok_or_else(|| format!("no number in {text:?}"))?;
        let (unit_m, after) = unit(after).ok_or_else(|| {
            format!("no unit in {text:?}: write mm, cm, m, in or ft behind the number")
        })?;
        sum_m += number * unit_m;
        rest = after.trim_start();
    }
    Ok(if negative { -sum_m } else { sum_m })
}

fn unit(text: &str) -> Option<(f64, &str)> {
    let text = text.trim_start();
    let (name, metres) = UNITS.iter().find(|(name, _)| text.starts_with(name))?;
    let after = &text[name.len()..];
    let runs_on =
        name.chars().all(char::is_alphabetic) && after.starts_with(|c: char| c.is_alphabetic());
    (!runs_on).then_some((*metres, after))
}

/// A decimal number, a fraction, or a whole number and a fraction.
fn number(text: &str) -> Option<(f64, &str)> {
    let (first, after) = decimal(text)?;
    if let Some(denominator) = after.strip_prefix('/') {
        let (below, after) = decimal(denominator)?;
        return (below != 0.0).then_some((first / below, after));
    }
    let fraction = || {
        let (above, after) = decimal(after.trim_start())?;
        let (below, after) = decimal(after.strip_prefix('/')?)?;
        (below != 0.0).then_some((first + above / below, after))
    };
    Some(fraction().unwrap_or((first, after)))
}

fn decimal(text: &str) -> Option<(f64, &str)> {
    let end = text
        .find(|c: char| !c.is_ascii_digit() && c != '.')
        .unwrap_or(text.len());
    let value: f64 = text[..end].parse().ok()?;
    Some((value, &text[end..]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, metres: f64) {
        let got = parse(text).unwrap_or(f64::NAN);
        assert!(
            (got - metres).abs() < 1e-12,
            "{text}: {got}, wanted {metres}"
        );
    }

    #[test]
    fn units_of_the_trade_are_read() {
        check("24 in", 0.6096);
        check("2'", 0.6096);
        check("2 ft 3in", 0.6858);
        check("9 1/2 in", 0.2413);
        check("3/8\"", 0.009525);
        check("0.9 m", 0.9);
        check("-5mm", -0.005);
    }

    #[test]
    fn what_is_not_a_length_is_refused() {
        for text in ["", "12", "cm", "1/0 in", "12 parsec", "1 mmm", "1.2.3 m"] {
            assert!(parse(text).is_err(), "{text:?} was read");
        }
    }
}
