//! Which thread is that?

/// Returns the designation `text` stands for in its usual form (`m8 x 1.25` is `M8`,
/// `m8x1` is `M8x1`, `1/4-28` stays), or `None` when it names no thread.
pub fn designation(text: &str) -> Option<String> {
    let upper = text.trim().to_ascii_uppercase().replace(' ', "");
    upper.starts_with('M').then_some(upper)
}
