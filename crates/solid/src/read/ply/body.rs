//! Numbers of a PLY file's body, text or binary, one after another.

use super::super::fault::Fault;
use super::super::text::{Words, number};
use super::header::{Element, Encoding, Property, Scalar};

/// Takes numbers from the body in order.
pub(super) trait Source {
    /// The next number, of type `scalar`.
    fn take(&mut self, scalar: Scalar) -> Result<f64, Fault>;
    /// Passes over `n` numbers of type `scalar`.
    fn skip(&mut self, scalar: Scalar, n: u64) -> Result<(), Fault>;
    /// Offset in the file of the next number.
    fn offset(&self) -> usize;
    /// Goes on at `offset`.
    fn set_offset(&mut self, offset: usize);
}

/// The binary body; `BIG` is its byte order.
pub(super) struct Binary<'a, const BIG: bool> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a, const BIG: bool> Binary<'a, BIG> {
    pub(super) fn new(bytes: &'a [u8], at: usize) -> Self {
        Self { bytes, at }
    }

    #[inline]
    fn array<const N: usize>(&mut self) -> Result<[u8; N], Fault> {
        let array = self
            .bytes
            .get(self.at..)
            .and_then(|rest| rest.first_chunk::<N>())
            .ok_or_else(|| cut_short(self.bytes.len()))?;
        self.at += N;
        let mut array = *array;
        if BIG {
            array.reverse();
        }
        Ok(array)
    }
}

impl<const BIG: bool> Source for Binary<'_, BIG> {
    #[inline]
    fn take(&mut self, scalar: Scalar) -> Result<f64, Fault> {
        Ok(match scalar {
            Scalar::I8 => i8::from_le_bytes(self.array()?).into(),
            Scalar::U8 => u8::from_le_bytes(self.array()?).into(),
            Scalar::I16 => i16::from_le_bytes(self.array()?).into(),
            Scalar::U16 => u16::from_le_bytes(self.array()?).into(),
            Scalar::I32 => i32::from_le_bytes(self.array()?).into(),
            Scalar::U32 => u32::from_le_bytes(self.array()?).into(),
            Scalar::F32 => f32::from_le_bytes(self.array()?).into(),
            Scalar::F64 => f64::from_le_bytes(self.array()?),
        })
    }

    fn skip(&mut self, scalar: Scalar, n: u64) -> Result<(), Fault> {
        let end = n
            .checked_mul(scalar.bytes() as u64)
            .and_then(|length| length.checked_add(self.at as u64))
            .and_then(|end| usize::try_from(end).ok())
            .filter(|&end| end <= self.bytes.len())
            .ok_or_else(|| cut_short(self.bytes.len()))?;
        self.at = end;
        Ok(())
    }

    fn offset(&self) -> usize {
        self.at
    }

    fn set_offset(&mut self, offset: usize) {
        self.at = offset;
    }
}

/// The text body.
pub(super) struct Text<'a>(Words<'a>);

impl<'a> Text<'a> {
    pub(super) fn new(bytes: &'a [u8], at: usize) -> Self {
        Self(Words::new(bytes, at))
    }
}

impl Source for Text<'_> {
    fn take(&mut self, scalar: Scalar) -> Result<f64, Fault> {
        let (at, word) = self.0.expect("a number")?;
        let value: f64 = number(at, word, "a value")?;
        if !scalar.is_float() && value.fract() != 0.0 {
            return Err(Fault::at(at, "a value should be a whole number"));
        }
        Ok(value)
    }

    fn skip(&mut self, _: Scalar, n: u64) -> Result<(), Fault> {
        for _ in 0..n {
            self.0.expect("a number")?;
        }
        Ok(())
    }

    fn offset(&self) -> usize {
        self.0.next_offset()
    }

    fn set_offset(&mut self, offset: usize) {
        self.0.set_offset(offset);
    }
}

/// Passes over the numbers of some properties of one row.
pub(super) fn skip_properties(
    source: &mut impl Source,
    properties: &[Property],
) -> Result<(), Fault> {
    for property in properties {
        let n = match property.count {
            None => 1,
            Some(count) => take_count(source, count)?,
        };
        source.skip(property.item, n)?;
    }
    Ok(())
}

/// Passes over all rows of `element`.
pub(super) fn skip_element(
    source: &mut impl Source,
    element: &Element,
    encoding: Encoding,
) -> Result<(), Fault> {
    if element.properties.is_empty() {
        return Ok(());
    }
    let is_fixed = element.properties.iter().all(|p| p.count.is_none());
    if is_fixed && encoding != Encoding::Text {
        let row_bytes = element.least_row_bytes(encoding) as u64;
        let n_bytes = element.n_rows.saturating_mul(row_bytes);
        return source.skip(Scalar::U8, n_bytes);
    }
    for _ in 0..element.n_rows {
        skip_properties(source, &element.properties)?;
    }
    Ok(())
}

/// The count in front of a list.
#[inline]
pub(super) fn take_count(source: &mut impl Source, count: Scalar) -> Result<u64, Fault> {
    let at = source.offset();
    let value = source.take(count)?;
    // Counts have at most 32 bits in binary; text may hold anything.
    if (0.0..=f64::from(u32::MAX)).contains(&value) {
        Ok(value as u64)
    } else {
        Err(Fault::at(at, format!("a list counts {value} items")))
    }
}

/// The fault of a body that ends too early.
pub(super) fn cut_short(at: usize) -> Fault {
    Fault::at(at, "the file ends before all that its header announces")
        .hint("the file is cut short: copy or export it again")
}
