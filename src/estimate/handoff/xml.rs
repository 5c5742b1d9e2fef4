//! XML text: elements in order, escaped, with no sign that XML 1.0 does not have.

/// A document being written.
pub(super) struct Xml {
    text: String,
    depth: usize,
}

impl Xml {
    /// A document with this root, in UTF-8.
    pub(super) fn document(root: &str, namespaces: &[(&str, &str)], body: impl FnOnce(&mut Self)) -> Vec<u8> {
        let mut xml = Self {
            text: "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n".to_owned(),
            depth: 1,
        };
        xml.text.push('<');
        xml.text.push_str(root);
        for (name, value) in namespaces {
            xml.attribute(name, value);
        }
        xml.text.push_str(">\n");
        body(&mut xml);
        xml.text.push_str(&format!("</{root}>\n"));
        xml.text.into_bytes()
    }

    /// An element with elements in it.
    pub(super) fn within(&mut self, name: &str, body: impl FnOnce(&mut Self)) {
        self.indent();
        self.text.push_str(&format!("<{name}>\n"));
        self.depth += 1;
        body(self);
        self.depth -= 1;
        self.indent();
        self.text.push_str(&format!("</{name}>\n"));
    }

    /// An element with a text in it.
    pub(super) fn put(&mut self, name: &str, text: &str) {
        self.put_with(name, &[], text);
    }

    /// An element with attributes and a text.
    pub(super) fn put_with(&mut self, name: &str, attributes: &[(&str, &str)], text: &str) {
        self.indent();
        self.text.push('<');
        self.text.push_str(name);
        for (attribute, value) in attributes {
            self.attribute(attribute, value);
        }
        self.text.push('>');
        self.text.push_str(&escaped(text));
        self.text.push_str(&format!("</{name}>\n"));
    }

    fn attribute(&mut self, name: &str, value: &str) {
        self.text.push_str(&format!(" {name}=\""));
        self.text.push_str(&escaped(value));
        self.text.push('"');
    }

    fn indent(&mut self) {
        for _ in 0..self.depth {
            self.text.push_str("  ");
        }
    }
}

/// Text as XML writes it, in an element or between the quotes of an attribute.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for sign in text.chars() {
        match sign {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            // A reader would make a plain end of line or a space of these.
            '\r' | '\t' | '\n' => out.push_str(&format!("&#{};", u32::from(sign))),
            // XML 1.0, production 2: no other control signs, no non-characters.
            control if control < ' ' || matches!(control, '\u{fffe}' | '\u{ffff}') => out.push('\u{fffd}'),
            plain => out.push(plain),
        }
    }
    out
}
