//! Numbers of a glTF accessor: where they lie and how they are written.

use super::super::fault::Fault;
use super::buffers::{Buffers, slice};
use super::document::{Accessor, Document};

/// Bytes that accessors without a buffer view may stand for in one file. They
/// cost their full size in memory and nothing in the file.
const MOST_ZERO_BYTES: u64 = 64 * 1024 * 1024;

/// A component's type.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Component {
    I8,
    U8,
    I16,
    U16,
    U32,
    F32,
}

impl Component {
    fn of(code: u32) -> Option<Self> {
        Some(match code {
            5120 => Self::I8,
            5121 => Self::U8,
            5122 => Self::I16,
            5123 => Self::U16,
            5125 => Self::U32,
            5126 => Self::F32,
            _ => return None,
        })
    }

    fn bytes(self) -> usize {
        match self {
            Self::I8 | Self::U8 => 1,
            Self::I16 | Self::U16 => 2,
            Self::U32 | Self::F32 => 4,
        }
    }

    /// The number at the start of `bytes`, which must be long enough.
    #[inline]
    fn number(self, bytes: &[u8]) -> f64 {
        match self {
            Self::I8 => i8::from_le_bytes([bytes[0]]).into(),
            Self::U8 => bytes[0].into(),
            Self::I16 => i16::from_le_bytes([bytes[0], bytes[1]]).into(),
            Self::U16 => u16::from_le_bytes([bytes[0], bytes[1]]).into(),
            Self::U32 => u32::from_le_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]).into(),
            Self::F32 => f32::from_le_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]).into(),
        }
    }

    /// What a normalised number means, by the standard's table in section 3.6.2.2.
    fn normalised(self, value: f64) -> f64 {
        match self {
            Self::I8 => (value / 127.0).max(-1.0),
            Self::U8 => value / 255.0,
            Self::I16 => (value / 32767.0).max(-1.0),
            Self::U16 => value / 65535.0,
            Self::U32 | Self::F32 => value,
        }
    }
}

/// Rows of numbers at a fixed stride; every one of them is known to be there.
#[derive(Debug, Clone, Copy)]
struct Rows<'a> {
    bytes: &'a [u8],
    stride: usize,
}

/// Rows that stand in place of others.
#[derive(Debug, Clone, Copy)]
struct Replaced<'a> {
    count: usize,
    index_type: Component,
    indices: &'a [u8],
    values: &'a [u8],
}

/// An accessor that was checked: every number it promises can be read.
#[derive(Debug, Clone, Copy)]
pub(super) struct View<'a> {
    pub(super) count: usize,
    pub(super) component: Component,
    pub(super) n_components: usize,
    pub(super) normalised: bool,
    /// `None` where all is zero.
    rows: Option<Rows<'a>>,
    replaced: Option<Replaced<'a>>,
}

/// Buffer views that accessor `index` lies in.
pub(super) fn views_of(document: &Document, index: usize) -> impl Iterator<Item = usize> {
    let accessor = document.accessors.get(index);
    let sparse = accessor.and_then(|accessor| accessor.sparse.as_ref());
    accessor
        .and_then(|accessor| accessor.buffer_view)
        .into_iter()
        .chain(
            sparse
                .into_iter()
                .flat_map(|sparse| [sparse.indices.buffer_view, sparse.values.buffer_view]),
        )
}

/// What accessor `index` declares, and its count.
pub(super) fn declared<'a>(
    document: &'a Document<'a>,
    index: usize,
) -> Result<&'a Accessor<'a>, Fault> {
    document
        .accessors
        .get(index)
        .ok_or_else(|| Fault::whole(format!("there is no accessor {index}")))
}

impl<'a> View<'a> {
    /// Checks accessor `index`; `n_zero_bytes` sums up what has no data in the file.
    pub(super) fn check(
        document: &'a Document<'a>,
        buffers: &'a Buffers<'a>,
        index: usize,
        n_zero_bytes: &mut u64,
    ) -> Result<Self, Fault> {
        let accessor = declared(document, index)?;
        let bad = |what: &str| Fault::whole(format!("accessor {index} {what}"));
        let component = Component::of(accessor.component_type)
            .ok_or_else(|| bad("has a component type that glTF does not know"))?;
        let n_components = match &*accessor.shape.0 {
            "SCALAR" => 1,
            "VEC2" => 2,
            "VEC3" => 3,
            "VEC4" => 4,
            _ => return Err(bad("is not made of numbers or vectors")),
        };
        let row_bytes = n_components * component.bytes();
        let rows = match accessor.buffer_view {
            Some(view) => Some(check_rows(accessor, buffers, index, view, row_bytes)?),
            None => {
                let n_bytes = accessor.count.saturating_mul(row_bytes as u64);
                *n_zero_bytes = n_zero_bytes.saturating_add(n_bytes);
                if *n_zero_bytes > MOST_ZERO_BYTES {
                    return Err(bad("promises more numbers than it has data for")
                        .hint("save the scan without compression and without empty accessors"));
                }
                None
            }
        };
        let count = usize::try_from(accessor.count).map_err(|_| bad("counts too many"))?;
        let mut view = Self {
            count,
            component,
            n_components,
            normalised: accessor.normalized,
            rows,
            replaced: None,
        };
        view.replaced = view.check_sparse(accessor, buffers, index, row_bytes)?;
        Ok(view)
    }

    fn check_sparse(
        &self,
        accessor: &'a Accessor<'a>,
        buffers: &'a Buffers<'a>,
        index: usize,
        row_bytes: usize,
    ) -> Result<Option<Replaced<'a>>, Fault> {
        let bad = |what: &str| Fault::whole(format!("accessor {index} {what}"));
        let Some(sparse) = &accessor.sparse else {
            return Ok(None);
        };
        let index_type = Component::of(sparse.indices.component_type)
            .filter(|kind| matches!(kind, Component::U8 | Component::U16 | Component::U32))
            .ok_or_else(|| bad("has sparse indices of a wrong type"))?;
        if sparse.count > accessor.count {
            return Err(bad("replaces more rows than it has"));
        }
        let part = |view: usize, offset: u64, n_bytes: usize| {
            let length = sparse.count.saturating_mul(n_bytes as u64);
            slice(buffers.view(view)?, offset, length)
                .ok_or_else(|| bad("has sparse data that reaches over its buffer view"))
        };
        let indices = part(
            sparse.indices.buffer_view,
            sparse.indices.byte_offset,
            index_type.bytes(),
        )?;
        let values = part(
            sparse.values.buffer_view,
            sparse.values.byte_offset,
            row_bytes,
        )?;
        let replaced = Replaced {
            // The indices' slice is at least as long.
            count: indices.len() / index_type.bytes(),
            index_type,
            indices,
            values,
        };
        if replaced.places().any(|place| place >= self.count) {
            return Err(bad("has a sparse index that is out of range"));
        }
        Ok(Some(replaced))
    }

    /// Whether every number is zero.
    pub(super) fn is_empty_of_data(&self) -> bool {
        self.rows.is_none() && self.replaced.is_none_or(|replaced| replaced.count == 0)
    }

    /// Passes every row's numbers to `take`, as `[f64; N]`; what a row lacks is
    /// zero. Rows that are replaced come again, later, with their new numbers.
    pub(super) fn for_each<const N: usize>(
        &self,
        mut take: impl FnMut(usize, [f64; N]) -> Result<(), Fault>,
    ) -> Result<(), Fault> {
        let row_bytes = self.n_components * self.component.bytes();
        match self.rows {
            Some(rows) => {
                for index in 0..self.count {
                    let start = index * rows.stride;
                    take(index, self.numbers(&rows.bytes[start..start + row_bytes]))?;
                }
            }
            None => {
                for index in 0..self.count {
                    take(index, [0.0; N])?;
                }
            }
        }
        if let Some(replaced) = self.replaced {
            for (place, row) in replaced
                .places()
                .zip(replaced.values.chunks_exact(row_bytes))
            {
                take(place, self.numbers(row))?;
            }
        }
        Ok(())
    }

    #[inline]
    fn numbers<const N: usize>(&self, row: &[u8]) -> [f64; N] {
        let mut numbers = [0.0; N];
        let parts = row.chunks_exact(self.component.bytes());
        for (number, part) in numbers.iter_mut().zip(parts) {
            let value = self.component.number(part);
            *number = if self.normalised {
                self.component.normalised(value)
            } else {
                value
            };
        }
        numbers
    }
}

impl Replaced<'_> {
    fn places(&self) -> impl Iterator<Item = usize> {
        self.indices
            .chunks_exact(self.index_type.bytes())
            .map(|bytes| self.index_type.number(bytes) as usize)
    }
}

/// Checks that all rows of an accessor lie in its buffer view.
fn check_rows<'a>(
    accessor: &Accessor,
    buffers: &'a Buffers<'a>,
    index: usize,
    view: usize,
    row_bytes: usize,
) -> Result<Rows<'a>, Fault> {
    let bad = |what: &str| Fault::whole(format!("accessor {index} {what}"));
    let bytes = buffers.view(view)?;
    let stride = buffers.view_declared(view)?.byte_stride;
    let stride = stride.unwrap_or(row_bytes as u64);
    if stride < row_bytes as u64 {
        return Err(bad("has rows longer than the stride of its buffer view"));
    }
    let n_bytes = match accessor.count.checked_sub(1) {
        None => Some(0),
        Some(n_strides) => n_strides
            .checked_mul(stride)
            .and_then(|length| length.checked_add(row_bytes as u64)),
    };
    let bytes = n_bytes
        .and_then(|n_bytes| slice(bytes, accessor.byte_offset, n_bytes))
        .ok_or_else(|| {
            bad(&format!(
                "({} rows of {row_bytes} bytes) reaches over the end of buffer view {view}",
                accessor.count
            ))
        })?;
    Ok(Rows {
        bytes,
        // A stride beyond the address space only fits a single row.
        stride: usize::try_from(stride).unwrap_or(usize::MAX),
    })
}
