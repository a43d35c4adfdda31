//! How does text in another encoding become UTF-8, without a character lost in silence?

use std::io::{self, Read};

use encoding_rs::{Decoder, DecoderResult, Encoding};

/// Reads `input`, text in one encoding, as UTF-8. A byte that has no meaning there is an error that
/// names its offset.
pub(crate) struct Decoded<R> {
    input: R,
    encoding: &'static Encoding,
    decoder: Decoder,
    raw: Vec<u8>,
    at: usize,
    filled: usize,
    offset: u64,
    /// Nothing is left of the input.
    ended: bool,
    /// The decoder has said its last: the end, or a byte without meaning. It must not be asked again.
    finished: bool,
}

impl<R: Read> Decoded<R> {
    /// Returns the UTF-8 of `input`, whose first byte is at `offset` of the file.
    pub fn new(input: R, encoding: &'static Encoding, offset: u64) -> Self {
        Self {
            input,
            encoding,
            decoder: encoding.new_decoder_without_bom_handling(),
            raw: vec![0; 16 * 1024],
            at: 0,
            filled: 0,
            offset,
            ended: false,
            finished: false,
        }
    }
}

impl<R: Read> Read for Decoded<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        while !self.finished {
            if self.at == self.filled && !self.ended {
                self.filled = self.input.read(&mut self.raw)?;
                self.at = 0;
                self.ended = self.filled == 0;
            }
            let raw = &self.raw[self.at..self.filled];
            let (result, read, written) =
                self.decoder.decode_to_utf8_without_replacement(raw, out, self.ended);
            self.at += read;
            self.offset += read as u64;
            self.finished = match result {
                DecoderResult::InputEmpty => self.ended,
                DecoderResult::OutputFull => false,
                DecoderResult::Malformed(..) => true,
            };
            match result {
                DecoderResult::Malformed(length, after) => {
                    let offset = self.offset - u64::from(length) - u64::from(after);
                    let message = format!("byte {offset} is not {}", self.encoding.name());
                    return Err(io::Error::new(io::ErrorKind::InvalidData, message));
                }
                _ if written > 0 => return Ok(written),
                DecoderResult::InputEmpty => {}
                DecoderResult::OutputFull => return Err(io::ErrorKind::WriteZero.into()),
            }
        }
        Ok(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decode(bytes: &[u8], label: &str) -> io::Result<String> {
        let encoding = Encoding::for_label(label.as_bytes()).unwrap();
        let mut text = String::new();
        Decoded::new(bytes, encoding, 0).read_to_string(&mut text).map(|_| text)
    }

    /// WHATWG Encoding Standard: 0xE9 is é in windows-1252, й in windows-1251.
    #[test]
    fn legacy_pages_and_utf_16_become_utf_8() {
        assert_eq!(decode(b"caf\xE9", "windows-1252").unwrap(), "café");
        assert_eq!(decode(b"\xE9", "windows-1251").unwrap(), "й");
        let wide: Vec<u8> = "n;Läufer".encode_utf16().flat_map(u16::to_le_bytes).collect();
        assert_eq!(decode(&wide, "utf-16le").unwrap(), "n;Läufer");
    }

    /// Found by fuzzing: who read on behind the end, or behind a fault, asked a finished decoder.
    #[test]
    fn behind_the_end_and_behind_a_fault_there_is_nothing() {
        for bytes in [&b"a\x00b\x00"[..], b"a\x00b\x00\x3d", b"a\x00\x3d\xd8", b"\x00\xdcb\x00"] {
            let mut decoded = Decoded::new(bytes, encoding_rs::UTF_16LE, 0);
            let mut out = [0; 64];
            while decoded.read(&mut out).is_ok_and(|read| read > 0) {}
            for _ in 0..3 {
                assert_eq!(decoded.read(&mut out).unwrap(), 0, "{bytes:?}");
            }
        }
    }

    #[test]
    fn a_byte_without_meaning_is_named() {
        let error = decode(b"ab\xD8\x00\x20\x00", "utf-16be").unwrap_or_default();
        assert_eq!(error, "", "a half pair is no text");
        let error = decode(b"ok \x83\xff", "shift_jis").unwrap_err();
        assert!(error.to_string().contains("byte 3"), "{error}");
    }
}
