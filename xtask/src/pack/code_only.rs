//! What of a JavaScript source is code: comments, text and regular expressions are blanked out.
//!
//! The packer looks for `import` and `export` in the result, so that the same words in a comment or a
//! template do not mislead it. Every byte keeps its place, so positions hold in both texts.

use anyhow::{Result, bail};

/// Words after which a `/` begins a regular expression, not a division.
const BEFORE_REGEX: [&str; 12] =
    ["return", "typeof", "case", "in", "of", "do", "else", "await", "yield", "void", "delete", "instanceof"];

/// The source with the inside of comments, strings, template text and regular expressions replaced by
/// spaces. Delimiters of strings and templates stay, line breaks stay, and so does the length in bytes.
///
/// # Errors
/// A comment, string, template or regular expression that is not closed, with its line.
pub fn code_only(source: &str) -> Result<String> {
    let mut scan = Scan { bytes: source.as_bytes(), out: Vec::with_capacity(source.len()), at: 0 };
    let mut open_braces: Vec<u32> = Vec::new(); // one entry for each template we are inside the `${}` of
    while let Some(byte) = scan.peek(0) {
        match byte {
            b'/' if scan.peek(1) == Some(b'/') => scan.blank_until("comment", |rest| rest[0] == b'\n', 0)?,
            b'/' if scan.peek(1) == Some(b'*') => {
                scan.blank(2);
                scan.blank_until("comment", |rest| rest.starts_with(b"*/"), 2)?;
            }
            b'/' if scan.regex_may_start() => scan.regex()?,
            b'"' | b'\'' => scan.string(byte)?,
            b'`' => {
                scan.keep();
                if scan.template_text()? {
                    open_braces.push(0);
                }
            }
            b'{' => {
                if let Some(depth) = open_braces.last_mut() {
                    *depth += 1;
                }
                scan.keep();
            }
            b'}' => {
                scan.keep();
                if let Some(depth) = open_braces.last_mut() {
                    if *depth > 0 {
                        *depth -= 1;
                    } else if !scan.template_text()? {
                        open_braces.pop();
                    }
                }
            }
            _ => scan.keep(),
        }
    }
    if !open_braces.is_empty() {
        bail!("line {}: a template is not closed", scan.line());
    }
    Ok(String::from_utf8(scan.out)?)
}

struct Scan<'a> {
    bytes: &'a [u8],
    out: Vec<u8>,
    at: usize,
}

impl Scan<'_> {
    fn peek(&self, ahead: usize) -> Option<u8> {
        self.bytes.get(self.at + ahead).copied()
    }

    fn line(&self) -> usize {
        1 + self.bytes[..self.at].iter().filter(|b| **b == b'\n').count()
    }

    fn keep(&mut self) {
        self.out.push(self.bytes[self.at]);
        self.at += 1;
    }

    fn blank(&mut self, count: usize) {
        for _ in 0..count.min(self.bytes.len() - self.at) {
            self.out.push(if self.bytes[self.at] == b'\n' { b'\n' } else { b' ' });
            self.at += 1;
        }
    }

    /// Blanks up to where `is_end` holds and `then` bytes more. The end of the file closes a line comment.
    fn blank_until(&mut self, what: &str, is_end: impl Fn(&[u8]) -> bool, then: usize) -> Result<()> {
        let line = self.line();
        while self.at < self.bytes.len() {
            if is_end(&self.bytes[self.at..]) {
                self.blank(then);
                return Ok(());
            }
            self.blank(1);
        }
        if then > 0 {
            bail!("line {line}: a {what} is not closed");
        }
        Ok(())
    }

    fn string(&mut self, quote: u8) -> Result<()> {
        let line = self.line();
        self.keep();
        loop {
            match self.peek(0) {
                Some(b) if b == quote => {
                    self.keep();
                    return Ok(());
                }
                Some(b'\\') => self.blank(2),
                None | Some(b'\n') => bail!("line {line}: a string is not closed on its line"),
                Some(_) => self.blank(1),
            }
        }
    }

    /// From inside a template: true when it stops at `${`, false when it stops after the closing mark.
    fn template_text(&mut self) -> Result<bool> {
        let line = self.line();
        loop {
            match self.peek(0) {
                Some(b'`') => {
                    self.keep();
                    return Ok(false);
                }
                Some(b'$') if self.peek(1) == Some(b'{') => {
                    self.keep();
                    self.keep();
                    return Ok(true);
                }
                Some(b'\\') => self.blank(2),
                None => bail!("line {line}: a template is not closed"),
                Some(_) => self.blank(1),
            }
        }
    }

    fn regex_may_start(&self) -> bool {
        let before = self.out.trim_ascii_end();
        let Some(&last) = before.last() else { return true };
        if matches!(last, b')' | b']' | b'}' | b'"' | b'\'' | b'`') {
            return false;
        }
        if !is_word(last) {
            return true;
        }
        let start = before.iter().rposition(|b| !is_word(*b)).map_or(0, |i| i + 1);
        BEFORE_REGEX.iter().any(|word| word.as_bytes() == &before[start..])
    }

    fn regex(&mut self) -> Result<()> {
        let line = self.line();
        self.keep();
        let mut in_class = false;
        loop {
            match self.peek(0) {
                Some(b'/') if !in_class => {
                    self.keep();
                    return Ok(());
                }
                Some(b'\\') => self.blank(2),
                None | Some(b'\n') => bail!("line {line}: a regular expression is not closed on its line"),
                Some(b) => {
                    in_class = (in_class || b == b'[') && b != b']';
                    self.blank(1);
                }
            }
        }
    }
}

/// Part of a JavaScript name. Non-ASCII bytes count as letters.
pub fn is_word(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || byte == b'_' || byte == b'$' || byte >= 0x80
}

#[cfg(test)]
mod tests {
    use super::code_only;

    fn check(source: &str, expected: &str) {
        let got = code_only(source).unwrap();
        assert_eq!(got, expected);
        assert_eq!(got.len(), source.len());
    }

    #[test]
    fn comments_and_strings_are_blanked_and_keep_their_place() {
        check("a // import x\nb", "a            \nb");
        check("a /* b\nimport */ c", "a     \n          c");
        check("f(\"a;b\", 'c\\'d');", "f(\"   \", '    ');");
        check("\"é\";", "\"  \";");
    }

    #[test]
    fn templates_keep_the_code_in_their_holes() {
        check("`a ${ f({x: `q`}) } b` + c", "`  ${ f({x: ` `}) }  ` + c");
        check("`\\${a}`", "`     `");
    }

    #[test]
    fn a_slash_is_a_division_after_a_value_and_a_regular_expression_elsewhere() {
        check("x = a / b / c;", "x = a / b / c;");
        check("x = /[/\"]'/.test(y);", "x = /     /.test(y);");
        check("return /\"/;", "return / /;");
        check("(a) / 2; // \"", "(a) / 2;     ");
    }

    #[test]
    fn what_is_not_closed_is_refused_with_its_line() {
        for (source, line) in [("a\n\"b", 2), ("\n\n/* c", 3), ("`d\n", 1), ("`${a", 1), ("x = /a\n", 1)] {
            let message = code_only(source).unwrap_err().to_string();
            assert!(message.contains(&format!("line {line}: ")), "{source:?}: {message}");
        }
    }
}
