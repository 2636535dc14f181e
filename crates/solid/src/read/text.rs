//! Words and numbers in a text file, without copies.

use super::fault::{Fault, quoted};

/// Whether `byte` parts words.
pub(super) fn is_space(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | b'\r' | b'\n' | 0x0b | 0x0c)
}

/// Words of a text, each with the byte offset at which it starts.
#[derive(Clone)]
pub(super) struct Words<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Words<'a> {
    /// Words of `bytes` from offset `at`.
    pub(super) fn new(bytes: &'a [u8], at: usize) -> Self {
        Self { bytes, at }
    }

    /// Offset just behind the last word taken.
    pub(super) fn offset(&self) -> usize {
        self.at
    }

    /// Offset of the next word, or of the end.
    pub(super) fn next_offset(&self) -> usize {
        let rest = self.bytes.get(self.at..).unwrap_or_default();
        let n_spaces = rest.iter().position(|&b| !is_space(b));
        self.at + n_spaces.unwrap_or(rest.len())
    }

    /// Goes on at offset `at`.
    pub(super) fn set_offset(&mut self, at: usize) {
        self.at = at;
    }

    /// The next word, which must be there; `what` names it in the error.
    pub(super) fn expect(&mut self, what: &str) -> Result<(usize, &'a [u8]), Fault> {
        self.next().ok_or_else(|| self.cut_short(what))
    }

    /// The fault of a text that ends before `what`.
    pub(super) fn cut_short(&self, what: &str) -> Fault {
        let reason = format!("the file ends where {what} was expected");
        Fault::at(self.bytes.len(), reason).hint("the file is cut short: copy or export it again")
    }

    /// The next word as a number.
    pub(super) fn expect_number(&mut self, what: &str) -> Result<f64, Fault> {
        let (at, word) = self.expect(what)?;
        number(at, word, what)
    }
}

impl<'a> Iterator for Words<'a> {
    type Item = (usize, &'a [u8]);

    fn next(&mut self) -> Option<Self::Item> {
        let rest = self.bytes.get(self.at..)?;
        let start = rest.iter().position(|&b| !is_space(b))?;
        let rest = &rest[start..];
        let length = rest.iter().position(|&b| is_space(b)).unwrap_or(rest.len());
        let at = self.at + start;
        self.at = at + length;
        Some((at, &rest[..length]))
    }
}

/// A finite decimal number.
pub(super) fn number(at: usize, word: &[u8], what: &str) -> Result<f64, Fault> {
    let value: f64 = std::str::from_utf8(word)
        .ok()
        .and_then(|word| word.parse().ok())
        .ok_or_else(|| {
            let fault = Fault::at(at, format!("{what} is {}, not a number", quoted(word)));
            if word.contains(&b',') {
                fault.hint("write decimal points, not commas")
            } else {
                fault
            }
        })?;
    if value.is_finite() {
        Ok(value)
    } else {
        Err(not_finite(at, what))
    }
}

/// The fault of a number that is not finite.
pub(super) fn not_finite(at: usize, what: &str) -> Fault {
    Fault::at(at, format!("{what} is not a finite number"))
        .hint("remove the broken points in the program the scan comes from, then export again")
}

/// A whole number with an optional sign.
pub(super) fn whole_number(at: usize, word: &[u8], what: &str) -> Result<i64, Fault> {
    let bad = || {
        Fault::at(
            at,
            format!("{what} is {}, not a whole number", quoted(word)),
        )
    };
    let (negative, digits) = match word {
        [b'-', digits @ ..] => (true, digits),
        [b'+', digits @ ..] | digits => (false, digits),
    };
    if digits.is_empty() || digits.len() > 18 {
        return Err(bad());
    }
    let mut value: i64 = 0;
    for &digit in digits {
        if !digit.is_ascii_digit() {
            return Err(bad());
        }
        value = value * 10 + i64::from(digit - b'0');
    }
    Ok(if negative { -value } else { value })
}
