//! The files of a railroad as text, and places in them.

use std::ops::Range;

/// Which file of a [`Sources`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FileId(u32);

/// A place: bytes `start..end` of the decoded text of one file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    /// The file.
    pub file: FileId,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// A place from a byte range.
    pub fn new(file: FileId, range: Range<usize>) -> Self {
        let clip = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        Self {
            file,
            start: clip(range.start),
            end: clip(range.end.max(range.start)),
        }
    }

    /// The byte range within the file.
    pub fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }

    /// Part of this place, given as a byte range relative to its start.
    #[must_use]
    pub fn part(self, range: Range<usize>) -> Self {
        let base = self.start as usize;
        Self::new(self.file, base + range.start..base + range.end)
    }
}

/// A value and where it was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spanned<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// The same place with another value.
    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Spanned<U> {
        Spanned {
            value: f(self.value),
            span: self.span,
        }
    }
}

impl<T> std::ops::Deref for Spanned<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.value
    }
}

/// How a file's bytes became text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, without a mark at its head.
    Utf8,
    /// UTF-8 with a byte order mark, as spreadsheets save it.
    Utf8Marked,
    /// UTF-16 with a byte order mark, as spreadsheets save "Unicode text".
    Utf16,
    /// Not UTF-8: taken for Windows-1252, which every byte string is.
    Windows1252,
}

/// One file as text.
#[derive(Debug, Clone)]
pub struct Source {
    /// Path within the railroad folder, with `/` between its parts.
    pub path: String,
    /// The decoded text, without a byte order mark; line ends as in the file.
    pub text: String,
    /// How it was encoded.
    pub encoding: Encoding,
    line_starts: Vec<u32>,
}

impl Source {
    /// Line and column of a byte, both from 1; columns count characters.
    pub fn line_column(&self, byte: usize) -> (usize, usize) {
        let mut byte = byte.min(self.text.len());
        while !self.text.is_char_boundary(byte) {
            byte -= 1;
        }
        let line = self
            .line_starts
            .partition_point(|&start| start as usize <= byte)
            - 1;
        let start = self.line_starts[line] as usize;
        (line + 1, self.text[start..byte].chars().count() + 1)
    }

    /// The byte range of a line (from 1), without its line end.
    pub fn line_range(&self, line: usize) -> Range<usize> {
        let start = self
            .line_starts
            .get(line - 1)
            .map_or(self.text.len(), |&at| at as usize);
        let end = self
            .line_starts
            .get(line)
            .map_or(self.text.len(), |&at| at as usize);
        let line = self.text[start..end].trim_end_matches(['\n', '\r']);
        start..start + line.len()
    }
}

/// Every file of a railroad, decoded.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    files: Vec<Source>,
}

impl Sources {
    /// Adds a file from its bytes. Never fails: what is not UTF-8 is read as Windows-1252.
    pub fn add(&mut self, path: impl Into<String>, bytes: &[u8]) -> FileId {
        let (text, encoding) = decode(bytes);
        let mut line_starts = vec![0];
        line_starts.extend(
            text.bytes()
                .enumerate()
                .filter(|&(_, b)| b == b'\n')
                .map(|(at, _)| at as u32 + 1),
        );
        self.files.push(Source {
            path: path.into(),
            text,
            encoding,
            line_starts,
        });
        FileId(self.files.len() as u32 - 1)
    }

    /// A file.
    pub fn get(&self, id: FileId) -> &Source {
        &self.files[id.0 as usize]
    }

    /// The file with this path.
    pub fn find(&self, path: &str) -> Option<FileId> {
        self.iter()
            .find(|(_, source)| source.path == path)
            .map(|(id, _)| id)
    }

    /// All files, in the order added.
    pub fn iter(&self) -> impl Iterator<Item = (FileId, &Source)> {
        self.files
            .iter()
            .enumerate()
            .map(|(at, source)| (FileId(at as u32), source))
    }

    /// The text of a place.
    pub fn text(&self, span: Span) -> &str {
        self.get(span.file).text.get(span.range()).unwrap_or("")
    }
}

fn decode(bytes: &[u8]) -> (String, Encoding) {
    if let Some((encoding, _)) = encoding_rs::Encoding::for_bom(bytes) {
        let (text, _, _) = encoding.decode(bytes);
        let kind = if encoding == encoding_rs::UTF_8 {
            Encoding::Utf8Marked
        } else {
            Encoding::Utf16
        };
        return (text.into_owned(), kind);
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => (text.to_owned(), Encoding::Utf8),
        Err(_) => {
            let (text, _, _) = encoding_rs::WINDOWS_1252.decode(bytes);
            (text.into_owned(), Encoding::Windows1252)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_and_columns_count_from_one_and_in_characters() {
        let mut sources = Sources::default();
        let id = sources.add("a.toml", "één = 1\r\ntwo = 2\n".as_bytes());
        let source = sources.get(id);
        assert_eq!(source.line_column(0), (1, 1));
        assert_eq!(source.line_column("één".len()), (1, 4));
        assert_eq!(source.line_column("één = 1\r\n".len()), (2, 1));
        assert_eq!(source.line_column(usize::MAX), (3, 1));
        assert_eq!(&source.text[source.line_range(1)], "één = 1");
        assert_eq!(source.line_range(3), source.text.len()..source.text.len());
    }

    #[test]
    fn any_bytes_are_text() {
        let mut sources = Sources::default();
        let text = |sources: &mut Sources, bytes: &[u8]| {
            let id = sources.add("x", bytes);
            (sources.get(id).text.clone(), sources.get(id).encoding)
        };
        assert_eq!(
            text(&mut sources, b"\xEF\xBB\xBFa"),
            ("a".into(), Encoding::Utf8Marked)
        );
        assert_eq!(
            text(&mut sources, b"caf\xE9"),
            ("café".into(), Encoding::Windows1252)
        );
        assert_eq!(
            text(&mut sources, b"\xFF\xFEa\0"),
            ("a".into(), Encoding::Utf16)
        );
    }
}
