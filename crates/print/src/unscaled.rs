//! How is a viewer asked to print unscaled? `PrintScaling /None`, which the PDF writer cannot say.

/// Returns `pdf` with `/PrintScaling /None` in its viewer preferences: an incremental update
/// (ISO 32000-1, 7.5.6 and table 150) that appends a new catalog, a cross-reference section for it
/// and a trailer. `None` when `pdf` is not laid out as the writer does it.
pub(crate) fn ask(mut pdf: Vec<u8>) -> Option<Vec<u8>> {
    const PREFERENCES: &str = "/ViewerPreferences<<";
    let end = pdf.len().saturating_sub(1024);
    let tail = end + find(&pdf[end..], b"trailer\n<<")?;
    let tail = std::str::from_utf8(&pdf[tail..]).ok()?;
    let (entries, rest) = tail.strip_prefix("trailer\n<<")?.split_once(">>\nstartxref\n")?;
    let previous: usize = rest.lines().next()?.parse().ok()?;
    let root: usize = entries.split_once("/Root ")?.1.split(' ').next()?.parse().ok()?;

    let head = format!("\n{root} 0 obj");
    let start = find(&pdf, head.as_bytes())? + 1;
    let length = find(&pdf[start..], b"endobj")?;
    let catalog = std::str::from_utf8(&pdf[start..start + length]).ok()?;
    let (before, after) = catalog.split_once(PREFERENCES)?;
    let catalog = format!("{before}{PREFERENCES}/PrintScaling/None{after}endobj\n");

    let mut update = String::from("\n");
    let place = pdf.len() + update.len();
    update.push_str(&catalog);
    let table = pdf.len() + update.len();
    update.push_str(&format!(
        "xref\n{root} 1\n{place:010} 00000 n\r\ntrailer\n<<{entries}/Prev {previous}>>\n\
         startxref\n{table}\n%%EOF\n"
    ));
    pdf.extend_from_slice(update.as_bytes());
    Some(pdf)
}

fn find(bytes: &[u8], wanted: &[u8]) -> Option<usize> {
    bytes.windows(wanted.len()).position(|window| window == wanted)
}
