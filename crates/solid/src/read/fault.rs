//! What is wrong with a file, and where.

use std::borrow::Cow;

use crate::SolidError;

/// A fault found by one of the readers, before the format's name is put to it.
#[derive(Debug)]
pub(super) struct Fault {
    reason: String,
    at: Option<usize>,
    hint: Cow<'static, str>,
}

impl Fault {
    /// A fault at byte `at` of the file.
    pub(super) fn at(at: usize, reason: impl Into<String>) -> Self {
        Self {
            reason: reason.into(),
            at: Some(at),
            hint: Cow::Borrowed("export the scan again and check that the file is whole"),
        }
    }

    /// A fault of the file as a whole.
    pub(super) fn whole(reason: impl Into<String>) -> Self {
        Self {
            at: None,
            ..Self::at(0, reason)
        }
    }

    /// Says what to do about it, in place of the general advice.
    pub(super) fn hint(mut self, hint: impl Into<Cow<'static, str>>) -> Self {
        self.hint = hint.into();
        self
    }

    /// The error of the crate; `text` is the file where its lines can be counted.
    pub(super) fn into_error(self, format: &'static str, text: Option<&[u8]>) -> SolidError {
        let line = text.zip(self.at).map(|(text, at)| line_of(text, at));
        SolidError::Unreadable {
            format,
            reason: match line {
                Some(line) => format!("line {line}: {}", self.reason),
                None => self.reason,
            },
            at: self.at,
            hint: self.hint.into_owned(),
        }
    }
}

/// Which line byte `at` lies in, from 1; a line ends at LF, CR LF or a lone CR.
fn line_of(text: &[u8], at: usize) -> usize {
    let before = &text[..at.min(text.len())];
    let ends = before
        .iter()
        .enumerate()
        .filter(|&(i, &byte)| byte == b'\n' || (byte == b'\r' && text.get(i + 1) != Some(&b'\n')));
    1 + ends.count()
}

/// A few bytes of the file as they may stand in an error's words.
pub(super) fn quoted(bytes: &[u8]) -> String {
    const LONGEST: usize = 60;
    let shown = &bytes[..bytes.len().min(LONGEST)];
    let dots = if bytes.len() > LONGEST { "…" } else { "" };
    format!("`{}{dots}`", shown.escape_ascii())
}
