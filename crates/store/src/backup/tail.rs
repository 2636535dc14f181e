//! The end of a backup: the sum of all bytes before it, and what follows from that.

use std::io::{self, Write};

use sha2::{Digest, Sha256};

use crate::objects::hex;

/// The name of the last entry.
const SUM: &str = "sum";

/// The header of an entry; nothing in it depends on where or when it was written.
pub(super) fn header(size_bytes: u64) -> tar::Header {
    let mut header = tar::Header::new_gnu();
    header.set_entry_type(tar::EntryType::Regular);
    header.set_size(size_bytes);
    header.set_mode(0o600);
    header.set_mtime(0);
    header
}

/// The bytes that end a backup whose other bytes have this sum.
pub(super) fn tail(sum: &[u8]) -> io::Result<Vec<u8>> {
    let text = hex(sum);
    let mut builder = tar::Builder::new(Vec::new());
    builder.append_data(&mut header(text.len() as u64), SUM, text.as_bytes())?;
    builder.into_inner()
}

/// How long every tail is.
pub(super) fn tail_len() -> io::Result<u64> {
    Ok(tail(&[0; 32])?.len() as u64)
}

/// Passes bytes on and sums them up.
#[derive(Debug)]
pub(super) struct Summing<W> {
    inner: W,
    sum: Sha256,
    size_bytes: u64,
}

impl<W> Summing<W> {
    pub(super) fn new(inner: W) -> Self {
        Self {
            inner,
            sum: Sha256::new(),
            size_bytes: 0,
        }
    }

    /// What was written to, the sum, and how many bytes.
    pub(super) fn end(self) -> (W, Vec<u8>, u64) {
        (self.inner, self.sum.finalize().to_vec(), self.size_bytes)
    }
}

impl<W: Write> Write for Summing<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let n = self.inner.write(bytes)?;
        self.sum.update(&bytes[..n]);
        self.size_bytes += n as u64;
        Ok(n)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}
