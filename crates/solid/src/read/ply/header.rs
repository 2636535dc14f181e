//! What a PLY file's header announces.

use super::super::fault::{Fault, quoted};
use super::super::text::{Words, is_space, whole_number};

/// Most elements and most properties of an element; real files have a handful.
const MOST_ENTRIES: usize = 256;

/// How the body is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Encoding {
    Text,
    LittleEndian,
    BigEndian,
}

/// A number's type.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Scalar {
    I8,
    U8,
    I16,
    U16,
    I32,
    U32,
    F32,
    F64,
}

impl Scalar {
    pub(super) fn bytes(self) -> usize {
        match self {
            Self::I8 | Self::U8 => 1,
            Self::I16 | Self::U16 => 2,
            Self::I32 | Self::U32 | Self::F32 => 4,
            Self::F64 => 8,
        }
    }

    pub(super) fn is_float(self) -> bool {
        matches!(self, Self::F32 | Self::F64)
    }

    fn named(word: &[u8]) -> Option<Self> {
        Some(match word {
            b"char" | b"int8" => Self::I8,
            b"uchar" | b"uint8" => Self::U8,
            b"short" | b"int16" => Self::I16,
            b"ushort" | b"uint16" => Self::U16,
            b"int" | b"int32" => Self::I32,
            b"uint" | b"uint32" => Self::U32,
            b"float" | b"float32" => Self::F32,
            b"double" | b"float64" => Self::F64,
            _ => return None,
        })
    }
}

/// One property of an element.
#[derive(Debug)]
pub(super) struct Property<'a> {
    pub(super) name: &'a [u8],
    /// Type of the number, or of a list's items.
    pub(super) item: Scalar,
    /// Type of a list's count; `None` for a single number.
    pub(super) count: Option<Scalar>,
}

/// One kind of row in the body.
#[derive(Debug)]
pub(super) struct Element<'a> {
    pub(super) name: &'a [u8],
    pub(super) n_rows: u64,
    pub(super) properties: Vec<Property<'a>>,
    /// Where the header announces it, for errors.
    pub(super) at: usize,
}

impl Element<'_> {
    /// Least bytes that one row takes in the body.
    pub(super) fn least_row_bytes(&self, encoding: Encoding) -> usize {
        self.properties
            .iter()
            .map(|property| match encoding {
                // A digit and what parts it from the next.
                Encoding::Text => 2,
                _ => property.count.unwrap_or(property.item).bytes(),
            })
            .sum()
    }

    /// The place of the property with one of these names.
    pub(super) fn find(&self, names: &[&[u8]]) -> Option<usize> {
        self.properties
            .iter()
            .position(|property| names.contains(&property.name))
    }
}

/// A header, and where the body begins.
#[derive(Debug)]
pub(super) struct Header<'a> {
    pub(super) encoding: Encoding,
    pub(super) elements: Vec<Element<'a>>,
    pub(super) body_at: usize,
}

impl<'a> Header<'a> {
    pub(super) fn read(bytes: &'a [u8]) -> Result<Self, Fault> {
        let mut encoding = None;
        let mut elements: Vec<Element> = Vec::new();
        let mut lines = Lines::new(bytes);
        lines.next(); // the word that marks the format
        loop {
            let Some((at, line)) = lines.next() else {
                return Err(Fault::at(bytes.len(), "the header has no `end_header`")
                    .hint("the file is cut short: copy or export it again"));
            };
            let mut words = Words::new(line, 0).map(|(_, word)| word);
            let bad = || Fault::at(at, format!("the header says {}", quoted(line)));
            match words.next() {
                None | Some(b"comment" | b"obj_info") => {}
                Some(b"format") => encoding = Some(encoding_of(words.next()).ok_or_else(bad)?),
                Some(b"element") => {
                    let name = words.next().ok_or_else(bad)?;
                    let count = words.next().ok_or_else(bad)?;
                    let count = whole_number(at, count, "an element's count")?;
                    let n_rows = u64::try_from(count).map_err(|_| bad())?;
                    if elements.len() == MOST_ENTRIES {
                        return Err(Fault::at(at, "the header has too many elements"));
                    }
                    elements.push(Element {
                        name,
                        n_rows,
                        properties: Vec::new(),
                        at,
                    });
                }
                Some(b"property") => {
                    let property = property_of(&mut words).ok_or_else(bad)?;
                    let element = elements.last_mut().ok_or_else(bad)?;
                    if element.properties.len() == MOST_ENTRIES {
                        return Err(Fault::at(at, "an element has too many properties"));
                    }
                    element.properties.push(property);
                }
                Some(b"end_header") => break,
                Some(_) => return Err(bad()),
            }
        }
        let encoding = encoding.ok_or_else(|| {
            Fault::whole("the header has no `format` line this reader knows")
                .hint("save the scan as PLY 1.0, ascii or binary")
        })?;
        Ok(Self {
            encoding,
            elements,
            body_at: lines.at,
        })
    }
}

fn encoding_of(word: Option<&[u8]>) -> Option<Encoding> {
    Some(match word? {
        b"ascii" => Encoding::Text,
        b"binary_little_endian" => Encoding::LittleEndian,
        b"binary_big_endian" => Encoding::BigEndian,
        _ => return None,
    })
}

fn property_of<'a>(words: &mut impl Iterator<Item = &'a [u8]>) -> Option<Property<'a>> {
    let first = words.next()?;
    let (count, item) = if first == b"list" {
        let count = Scalar::named(words.next()?).filter(|count| !count.is_float())?;
        (Some(count), Scalar::named(words.next()?)?)
    } else {
        (None, Scalar::named(first)?)
    };
    let name = words.next()?;
    Some(Property { name, item, count })
}

/// Header lines with their offsets. Lines end as the first one does, so that a
/// body that begins with a line feed is not taken for part of a line's end.
struct Lines<'a> {
    bytes: &'a [u8],
    at: usize,
    ends_with_cr: bool,
}

impl<'a> Lines<'a> {
    fn new(bytes: &'a [u8]) -> Self {
        let end = bytes.iter().position(|&b| b == b'\r' || b == b'\n');
        let ends_with_cr = end.is_some_and(|end| {
            bytes[end] == b'\r' && bytes.get(end + 1).is_some_and(|&next| next != b'\n')
        });
        Self {
            bytes,
            at: 0,
            ends_with_cr,
        }
    }
}

impl<'a> Iterator for Lines<'a> {
    type Item = (usize, &'a [u8]);

    fn next(&mut self) -> Option<Self::Item> {
        let rest = self.bytes.get(self.at..)?;
        let end_byte = if self.ends_with_cr { b'\r' } else { b'\n' };
        let length = rest.iter().position(|&byte| byte == end_byte);
        // The last line of a text file may lack its end.
        let (length, step) = match length {
            Some(length) => (length, length + 1),
            None if rest.is_empty() => return None,
            None => (rest.len(), rest.len()),
        };
        let at = self.at;
        self.at += step;
        let line = &rest[..length];
        let trimmed = line
            .iter()
            .rposition(|&b| !is_space(b))
            .map_or(0, |i| i + 1);
        Some((at, &line[..trimmed]))
    }
}
