//! A page of HTML as it is written: elements are closed in the order in which they were opened, and all text goes through one
//! place that makes it harmless.

/// Elements that have no end.
const EMPTY: [&str; 3] = ["img", "meta", "wbr"];

/// HTML being written.
#[derive(Debug, Default)]
pub(super) struct Page {
    out: String,
    open: Vec<&'static str>,
}

/// Text as it may stand in HTML, in an element or in a quoted attribute: markup is written as such, and what a reader cannot see
/// but would change the page (control characters, turns of the writing direction, characters that are none) becomes U+FFFD.
/// Line ends stay; other white space becomes a space.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' => out.push('\n'),
            '\t' | '\r' | '\u{2028}' | '\u{2029}' => out.push(' '),
            c if c.is_control() || turns_or_hides(c) => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// Marks, embeddings, overrides and isolates of the writing direction (Unicode Standard Annex 9, 2.1 to 2.6), invisible
/// operators and tags, and noncharacters (Unicode Standard, 23.7).
fn turns_or_hides(c: char) -> bool {
    let code = u32::from(c);
    matches!(c, '\u{061c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
        || (0xe_0000..=0xe_007f).contains(&code)
        || (0xfdd0..=0xfdef).contains(&code)
        || code & 0xfffe == 0xfffe
}

impl Page {
    /// An element with attributes; what follows stands in it until it is [`Page::close`]d. Elements without content are not left open.
    pub fn open(&mut self, tag: &'static str, attributes: &[(&str, &str)]) -> &mut Self {
        self.out.push('<');
        self.out.push_str(tag);
        for (name, value) in attributes.iter().filter(|(_, value)| !value.is_empty()) {
            self.out.push(' ');
            self.out.push_str(name);
            self.out.push_str("=\"");
            self.out.push_str(&escaped(value));
            self.out.push('"');
        }
        self.out.push('>');
        if !EMPTY.contains(&tag) {
            self.open.push(tag);
        }
        self
    }

    /// Ends the element that was opened last.
    pub fn close(&mut self) -> &mut Self {
        if let Some(tag) = self.open.pop() {
            self.out.push_str("</");
            self.out.push_str(tag);
            self.out.push('>');
            if !matches!(tag, "a" | "span" | "code") {
                self.out.push('\n');
            }
        }
        self
    }

    /// Text, made harmless.
    pub fn text(&mut self, text: &str) -> &mut Self {
        self.out.push_str(&escaped(text));
        self
    }

    /// An element that holds text alone.
    pub fn put(&mut self, tag: &'static str, attributes: &[(&str, &str)], text: &str) -> &mut Self {
        self.open(tag, attributes).text(text).close()
    }

    /// A paragraph; none for an empty text.
    pub fn paragraph(&mut self, class: &str, text: &str) -> &mut Self {
        if !text.is_empty() {
            self.put("p", &[("class", class)], text);
        }
        self
    }

    /// A list of texts; none for no texts.
    pub fn list(&mut self, class: &str, texts: &[String]) -> &mut Self {
        if texts.is_empty() {
            return self;
        }
        self.open("ul", &[("class", class)]);
        for text in texts {
            self.put("li", &[], text);
        }
        self.close()
    }

    /// A picture as PNG, in the page itself.
    pub fn picture(&mut self, png: &[u8], (width, height): (u32, u32), words: &str) -> &mut Self {
        self.out.push_str("<img src=\"data:image/png;base64,");
        super::base64::push(&mut self.out, png);
        self.out.push_str(&format!("\" width=\"{width}\" height=\"{height}\" alt=\"{}\">\n", escaped(words)));
        self
    }

    /// The style of the page: our own text alone.
    pub fn style(&mut self, style: &str) -> &mut Self {
        self.out.push_str("<style>");
        self.out.push_str(style);
        self.out.push_str("</style>\n");
        self
    }

    /// The page with everything closed.
    pub fn done(mut self) -> String {
        while !self.open.is_empty() {
            self.close();
        }
        self.out
    }
}

/// A table of no more rows is not parted by the end of a page.
const WHOLE: usize = 8;
/// Letters without a gap after which a line of a table may be broken.
const LONG_RUN: usize = 18;
/// The same where there is a sign between them.
const SHORT_RUN: usize = 6;

/// A table: its caption, headings and rows. The first cell of a row names it.
#[derive(Debug, Default)]
pub(super) struct Sheet<'a> {
    /// What it is a table of.
    pub caption: &'a str,
    /// More than what the caption says is not needed: a class for its look.
    pub class: &'a str,
    /// One heading for each column.
    pub headings: Vec<String>,
    /// Rows with as many cells.
    pub rows: Vec<Vec<Words>>,
}

/// What stands in a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Words {
    /// Words.
    Text(String),
    /// A number, to stand under others.
    Number(String),
    /// A hash or another long text without gaps.
    Code(String),
}

impl Words {
    pub fn of(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    fn parts(&self) -> (&str, &'static str) {
        match self {
            Self::Text(text) => (text, ""),
            Self::Number(text) => (text, "number"),
            Self::Code(text) => (text, "code"),
        }
    }
}

impl Page {
    /// An element with text that may be broken within a long word, as file names are, so that a column never is wider than the page.
    pub fn cell(&mut self, tag: &'static str, attributes: &[(&str, &str)], text: &str) -> &mut Self {
        self.open(tag, attributes);
        let (mut part, mut run) = (String::new(), 0);
        for c in text.chars() {
            part.push(c);
            run = if c.is_whitespace() { 0 } else { run + 1 };
            if run == LONG_RUN || (run >= SHORT_RUN && matches!(c, '_' | '-' | '.' | '/' | ',' | ':')) {
                self.text(&part).open("wbr", &[]);
                part.clear();
                run = 0;
            }
        }
        self.text(&part).close()
    }

    /// A table; none without rows.
    pub fn table(&mut self, sheet: &Sheet<'_>) -> &mut Self {
        if sheet.rows.is_empty() {
            return self;
        }
        let class = match sheet.rows.len() <= WHOLE {
            true => format!("{} whole", sheet.class),
            false => sheet.class.to_owned(),
        };
        self.open("table", &[("class", class.trim())]);
        if !sheet.caption.is_empty() {
            self.put("caption", &[], sheet.caption);
        }
        if sheet.headings.iter().any(|heading| !heading.is_empty()) {
            self.open("thead", &[]).open("tr", &[]);
            for (place, heading) in sheet.headings.iter().enumerate() {
                let is_number =
                    sheet.rows.iter().all(|row| matches!(row.get(place), Some(Words::Number(_)) | None));
                let class = if is_number { "number" } else { "" };
                // Above the names of the rows there may be nothing to say.
                let tag = if heading.is_empty() { "td" } else { "th" };
                let scope = if heading.is_empty() { "" } else { "col" };
                self.cell(tag, &[("scope", scope), ("class", class)], heading);
            }
            self.close().close();
        }
        self.open("tbody", &[]);
        for row in &sheet.rows {
            self.open("tr", &[]);
            for (place, cell) in row.iter().enumerate() {
                let (text, class) = cell.parts();
                match place {
                    0 => self.cell("th", &[("scope", "row"), ("class", class)], text),
                    _ => self.cell("td", &[("class", class)], text),
                };
            }
            self.close();
        }
        self.close().close()
    }
}
