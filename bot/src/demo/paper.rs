//! How what is told is set: line length, and what is not printed.

/// Invitation codes are secrets, also made-up ones.
pub fn without_codes(text: &str) -> String {
    match text.split_once("start=") {
        Some((before, code)) => {
            let rest = code.find(char::is_whitespace).map_or("", |end| &code[end..]);
            format!("{before}start=…{rest}")
        }
        None if text.starts_with("/start ") => "/start …".to_owned(),
        None => text.to_owned(),
    }
}

/// A line cut at blanks so that no line is longer than `width` characters, but for single words.
pub fn wrap(line: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in line.split(' ') {
        let last = lines.last_mut().expect("there is always a line");
        if !last.is_empty() && last.chars().count() + 1 + word.chars().count() > width {
            lines.push(word.to_owned());
        } else {
            if !last.is_empty() {
                last.push(' ');
            }
            last.push_str(word);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lines_are_cut_at_blanks_and_nothing_is_lost() {
        let long = "five pounds of shiitake ".repeat(9);
        let lines = wrap(long.trim(), 72);
        assert!(lines.len() > 2 && lines.iter().all(|line| line.chars().count() <= 72), "{lines:?}");
        assert_eq!(lines.join(" "), long.trim());
    }

    #[test]
    fn codes_are_not_printed() {
        assert_eq!(without_codes("go to https://t.me/x?start=abc now"), "go to https://t.me/x?start=… now");
        assert_eq!(without_codes("/start abc"), "/start …");
    }
}
