//! Where does a row of text end, on which line did it begin, and is it text at all?

use std::io::{self, Read};

use csv_core::ReadRecordResult;

/// The longest row, in bytes: past it, a quote was opened and not closed.
const ROW_BYTES_MAX: usize = 1 << 20;
/// The most columns.
pub(crate) const COLUMNS_MAX: usize = 1024;
const BUFFER_BYTES: usize = 64 * 1024;

/// The cells of one row.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Cells<'a> {
    text: &'a str,
    ends: &'a [usize],
}

impl<'a> Cells<'a> {
    pub fn len(self) -> usize {
        self.ends.len()
    }

    pub fn get(self, at: usize) -> &'a str {
        let start = if at == 0 { 0 } else { self.ends[at - 1] };
        &self.text[start..self.ends[at]]
    }

    pub fn iter(self) -> impl Iterator<Item = &'a str> {
        (0..self.len()).map(move |at| self.get(at))
    }

    /// All cells in one piece.
    pub fn text(self) -> &'a str {
        self.text
    }

    pub fn blank(self) -> bool {
        self.text.bytes().all(|byte| byte == b' ')
    }

    pub fn owned(self) -> Vec<String> {
        self.iter().map(str::to_owned).collect()
    }
}

/// Why a row is no row.
#[derive(Debug)]
pub(crate) enum RowFault {
    /// The byte at `offset` of the file is not UTF-8; the row is given as far as it can be shown.
    NotUtf8 { line: u64, offset: u64, cells: Vec<String> },
    /// A quote that was opened on this line or after is not closed where its cell ends; at the
    /// end of the file everything after it was taken for the cell.
    Unclosed { line: u64, cells: Vec<String>, at_end: bool },
    /// The row has no end within reason; nothing after it is read.
    Endless { line: u64 },
    /// The file cannot be read on; nothing after it is read.
    Io { line: u64, source: io::Error },
}

/// The rows of UTF-8 text with a separator, RFC 4180 quoting and any line end.
pub(crate) struct Rows<R> {
    input: R,
    separator: u8,
    core: csv_core::Reader,
    /// Raw bytes: a row stays whole here until it is judged.
    buffer: Vec<u8>,
    start: usize,
    at: usize,
    filled: usize,
    /// Offset in the file of the buffer's first byte.
    base: u64,
    /// Line that `start` lies on.
    line: u64,
    /// `\r` alone ends a line in this file.
    lone_cr: bool,
    text: Vec<u8>,
    ends: Vec<usize>,
    /// Bytes and cells of the last row.
    last: (usize, usize),
}

impl<R: Read> Rows<R> {
    /// Returns the rows of `input`, whose first byte is at `offset` of the file.
    pub fn new(input: R, separator: u8, lone_cr: bool, offset: u64) -> Self {
        Self {
            input,
            separator,
            core: csv_core::ReaderBuilder::new().delimiter(separator).build(),
            buffer: vec![0; BUFFER_BYTES],
            start: 0,
            at: 0,
            filled: 0,
            base: offset,
            line: 1,
            lone_cr,
            text: vec![0; BUFFER_BYTES],
            ends: vec![0; 64],
            last: (0, 0),
        }
    }

    fn line_end(&self) -> u8 {
        if self.lone_cr { b'\r' } else { b'\n' }
    }

    /// Leaves the next `count` lines, whatever stands in them.
    pub fn skip_lines(&mut self, count: usize) -> io::Result<()> {
        for _ in 0..count {
            loop {
                let rest = &self.buffer[self.at..self.filled];
                if let Some(end) = rest.iter().position(|byte| *byte == self.line_end()) {
                    self.at += end + 1;
                    self.line += 1;
                    break;
                }
                self.at = self.filled;
                self.start = self.at;
                if self.fill()? == 0 {
                    return Ok(());
                }
            }
        }
        self.start = self.at;
        Ok(())
    }

    /// Reads on behind what is there, keeping the row that was begun.
    fn fill(&mut self) -> io::Result<usize> {
        self.buffer.copy_within(self.start..self.filled, 0);
        self.base += self.start as u64;
        self.at -= self.start;
        self.filled -= self.start;
        self.start = 0;
        if self.filled + BUFFER_BYTES / 2 > self.buffer.len() {
            self.buffer.resize(self.buffer.len() * 2, 0);
        }
        let read = loop {
            match self.input.read(&mut self.buffer[self.filled..]) {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                read => break read?,
            }
        };
        self.filled += read;
        Ok(read)
    }

    /// Returns the next row and the line it begins on; `None` at the end. Blank lines are no rows.
    pub fn next(&mut self) -> Result<Option<(u64, Cells<'_>)>, RowFault> {
        let (mut length, mut count, mut at_end) = (0, 0, false);
        loop {
            // The core takes an empty input for the end of the file.
            if self.at == self.filled && !at_end {
                match self.fill() {
                    Ok(read) => at_end = read == 0,
                    Err(source) => return Err(RowFault::Io { line: self.line, source }),
                }
            }
            let input = &self.buffer[self.at..self.filled];
            let (result, read, written, ended) =
                self.core.read_record(input, &mut self.text[length..], &mut self.ends[count..]);
            self.at += read;
            length += written;
            count += ended;
            match result {
                ReadRecordResult::Record => break,
                ReadRecordResult::End => return Ok(None),
                ReadRecordResult::InputEmpty => {}
                ReadRecordResult::OutputFull => self.text.resize(self.text.len() * 2, 0),
                ReadRecordResult::OutputEndsFull => self.ends.resize(self.ends.len() * 2, 0),
            }
            if self.at - self.start > ROW_BYTES_MAX || count > COLUMNS_MAX {
                return Err(RowFault::Endless { line: self.line });
            }
        }
        self.last = (length, count);
        self.judge(length, count, at_end)
    }

    /// The row that [`Rows::next`] gave last; empty when it was none.
    pub fn last(&self) -> Cells<'_> {
        let (length, count) = self.last;
        match std::str::from_utf8(&self.text[..length]) {
            Ok(text) => Cells { text, ends: &self.ends[..count] },
            Err(_) => Cells { text: "", ends: &[] },
        }
    }

    fn judge(
        &mut self,
        length: usize,
        count: usize,
        at_end: bool,
    ) -> Result<Option<(u64, Cells<'_>)>, RowFault> {
        let raw = &self.buffer[self.start..self.at];
        let offset = self.base + self.start as u64;
        let line_end = self.line_end();
        let lines = |bytes: &[u8]| bytes.split(|byte| *byte == line_end).skip(1).count() as u64;
        let lead = raw.iter().take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
        let line = self.line + lines(&raw[..lead]);
        self.line += lines(raw);
        self.start = self.at;
        let (text, ends) = (&self.text[..length], &self.ends[..count]);
        let whole = std::str::from_utf8(text)
            .ok()
            .filter(|text| text.is_ascii() || ends.iter().all(|end| text.is_char_boundary(*end)));
        let Some(text) = whole else {
            let valid = std::str::from_utf8(raw).map_or_else(|error| error.valid_up_to(), str::len);
            let starts = std::iter::once(&0).chain(ends);
            let cells = starts.zip(ends).map(|(a, b)| String::from_utf8_lossy(&text[*a..*b]));
            let cells = cells.map(std::borrow::Cow::into_owned).collect();
            return Err(RowFault::NotUtf8 { line, offset: offset + valid as u64, cells });
        };
        let cells = Cells { text, ends };
        let several = text.as_bytes().contains(&line_end);
        if several && !quotes_close(&raw[lead..], self.separator) {
            return Err(RowFault::Unclosed { line, cells: cells.owned(), at_end });
        }
        Ok(Some((line, cells)))
    }
}

/// Whether every quoted cell of `raw`, one row, ends right behind its closing quote. The core is
/// lenient there, and would take the rows up to the next quote for one cell.
fn quotes_close(raw: &[u8], separator: u8) -> bool {
    let mut rest = raw;
    loop {
        let after = if let Some(quoted) = rest.strip_prefix(b"\"") {
            let mut at = 0;
            loop {
                let Some(quote) = quoted[at..].iter().position(|byte| *byte == b'"') else {
                    return false;
                };
                at += quote + 1;
                if quoted.get(at) != Some(&b'"') {
                    break &quoted[at..];
                }
                at += 1;
            }
        } else {
            let ends = |byte: &u8| *byte == separator || matches!(byte, b'\r' | b'\n');
            &rest[rest.iter().position(ends).unwrap_or(rest.len())..]
        };
        match after.first() {
            None | Some(b'\r' | b'\n') => return true,
            Some(byte) if *byte == separator => rest = &after[1..],
            Some(_) => return false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &[u8], lone_cr: bool) -> Vec<(u64, Vec<String>)> {
        let mut rows = Rows::new(text, b',', lone_cr, 0);
        let mut seen = Vec::new();
        while let Some((line, cells)) = rows.next().unwrap() {
            seen.push((line, cells.owned()));
        }
        seen
    }

    /// RFC 4180: CRLF ends a record, a quoted field may hold separators, quotes and line ends.
    #[test]
    fn rows_end_and_count_lines_by_any_line_end() {
        for (text, lone_cr) in [
            ("a,b\r\n\"x\r\n\"\"y\"\"\",2\r\n\r\nc,3", false),
            ("a,b\n\"x\n\"\"y\"\"\",2\n\nc,3\n", false),
            ("a,b\r\"x\r\"\"y\"\"\",2\r\rc,3\r", true),
        ] {
            let rows = read(text.as_bytes(), lone_cr);
            let lines: Vec<u64> = rows.iter().map(|row| row.0).collect();
            assert_eq!(lines, [1, 2, 5], "{text:?}");
            assert!(rows[1].1[0].ends_with("\"y\""), "{text:?}");
        }
    }

    #[test]
    fn a_bad_byte_is_named_by_its_offset_in_the_file() {
        let text = [&b"n,d\n1,ok\n2,\""[..], b"caf\xE9\",x\n3,ok\n"].concat();
        let mut rows = Rows::new(&text[..], b',', false, 0);
        assert!(rows.next().unwrap().is_some() && rows.next().unwrap().is_some());
        let fault = rows.next().unwrap_err();
        let at = text.iter().position(|byte| *byte == 0xE9).unwrap() as u64;
        assert!(matches!(fault, RowFault::NotUtf8 { offset, line: 3, .. } if offset == at));
        assert_eq!(rows.next().unwrap().unwrap().1.owned(), ["3", "ok"]);
    }

    #[test]
    fn a_quote_that_is_never_closed_is_named() {
        for text in ["n,d\n1,\"open\n2,x\n", "n,d\n1,\"open\n2,\"\"", "n,d\n1,\"open\nx"] {
            let mut rows = Rows::new(text.as_bytes(), b',', false, 0);
            rows.next().unwrap();
            assert!(matches!(rows.next(), Err(RowFault::Unclosed { line: 2, .. })), "{text:?}");
        }
        assert_eq!(read(b"n,d\n1,\"a\n\"\"b\"\"\"\n", false).len(), 2);
        let endless = format!("n,d\n1,\"{}", "x\n".repeat(ROW_BYTES_MAX));
        let mut rows = Rows::new(endless.as_bytes(), b',', false, 0);
        rows.next().unwrap();
        assert!(matches!(rows.next(), Err(RowFault::Endless { line: 2 })));
    }
}
