//! How are the other numbers of a part written in one cell?
//!
//! `user:number; user:number`; a number without a user stands alone; `\` takes the meaning of the
//! next character away.

use binwright_catalog::PartNumber;

/// Returns the numbers in `text`; those without a user are `user`'s.
pub(crate) fn parse_numbers(text: &str, user: &str) -> Vec<PartNumber> {
    let mut numbers = Vec::new();
    let mut parts = vec![String::new()];
    let mut letters = text.chars();
    loop {
        let letter = letters.next();
        match letter {
            Some('\\') => parts.last_mut().into_iter().for_each(|p| p.extend(letters.next())),
            // Only the first colon parts user and number.
            Some(':') if parts.len() == 1 => parts.push(String::new()),
            Some(';') | None => {
                let whole = std::mem::replace(&mut parts, vec![String::new()]);
                let (user, number) = match &whole[..] {
                    [user, number] => (user.trim(), number.trim()),
                    _ => (user, whole[0].trim()),
                };
                if !number.is_empty() {
                    numbers.push(PartNumber { text: number.to_owned(), user: user.to_owned() });
                }
                if letter.is_none() {
                    return numbers;
                }
            }
            Some(other) => parts.last_mut().into_iter().for_each(|p| p.push(other)),
        }
    }
}

/// Returns `numbers` as one cell.
pub(crate) fn write_numbers(numbers: &[PartNumber]) -> String {
    let escaped = |text: &str| -> String {
        text.chars()
            .flat_map(|c| matches!(c, ':' | ';' | '\\').then_some('\\').into_iter().chain([c]))
            .collect()
    };
    let one = |number: &PartNumber| match number.user.as_str() {
        "" => escaped(&number.text),
        user => format!("{}:{}", escaped(user), escaped(&number.text)),
    };
    numbers.iter().map(one).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_with_and_without_a_user() {
        let read = parse_numbers("Hallam: 12-4 ; 77 A;;Orrin:x\\:y", "Fennel");
        let pairs: Vec<_> = read.iter().map(|n| (n.user.as_str(), n.text.as_str())).collect();
        assert_eq!(pairs, [("Hallam", "12-4"), ("Fennel", "77 A"), ("Orrin", "x:y")]);
        assert_eq!(write_numbers(&read), "Hallam:12-4; Fennel:77 A; Orrin:x\\:y");
        assert!(parse_numbers("", "Fennel").is_empty());
    }
}
