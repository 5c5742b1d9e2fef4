//! What the field sees and what it may send. Cost, margin, wages and suppliers' prices are secret to it, so a view names what is shown, and
//! whatever it does not name stays behind: a new member is hidden until somebody lists it here. It sends the survey and
//! nothing of the pricing: whoever could put a cost in and see the price that comes of it would know the margin.

use serde_json::{Map, Value, json};

/// What the field sees of an answer.
#[derive(Debug, Clone, Copy)]
pub enum View {
    /// All of it: there is no secret in it.
    Whole,
    /// What the shape names.
    Part(&'static Shape),
}

/// What is shown of a value.
#[derive(Debug, Clone, Copy)]
pub enum Shape {
    /// All of it.
    Whole,
    /// These members of an object.
    Members(&'static [(&'static str, Shape)]),
    /// Each entry of a list.
    Each(&'static Shape),
    /// Each entry of a list whose member is not this text.
    EachBut(&'static str, &'static str, &'static Shape),
    /// The same, under a name of its own in the contract.
    Named(&'static str, &'static Shape),
}

use Shape::{Each, EachBut, Members, Named, Whole};

/// An estimate request: the survey.
pub const REQUEST: View = View::Part(&REQUEST_MEMBERS);
/// A quote to be made: for whom, where, and the survey.
pub const NEW_QUOTE: View = View::Part(&Members(&[
    ("id", Whole),
    ("customer", Whole),
    ("site", Whole),
    ("survey", Whole),
    (
        "draft",
        Members(&[
            ("request", REQUEST_MEMBERS),
            ("alternates", Each(&ALTERNATE)),
            ("exclusions", Whole),
            ("wording", Whole),
        ]),
    ),
]));

const REQUEST_MEMBERS: Shape = Members(&[("job", Whole), ("priced_on", Whole), ("rulebook", Whole)]);

const ALTERNATE: Shape = Members(&[
    ("name", Whole),
    ("title", Whole),
    ("note", Whole),
    ("change", Members(&[("job", Whole), ("extra", Whole)])),
]);

/// An estimate: what is done, with what, how long, and what the customer pays.
pub const ESTIMATE: View = View::Part(&ESTIMATE_SHAPE);
/// A revision: the survey and what became of the offer.
pub const REVISION: View = View::Part(&Named("QuoteRevisionForField", &REVISION_MEMBERS));
/// What a revision comes to.
pub const REVISION_ESTIMATE: View =
    View::Part(&Named("RevisionEstimateForField", &REVISION_ESTIMATE_MEMBERS));

const ESTIMATE_SHAPE: Shape = Named("EstimateForField", &ESTIMATE_MEMBERS);

const ESTIMATE_MEMBERS: Shape = Members(&[
    ("rulebook", Whole),
    ("policy", Whole),
    ("priced_on", Whole),
    ("currency", Whole),
    ("job", Whole),
    ("sizing", Whole),
    ("lines", Each(&LINE)),
    (
        "labour",
        Each(&Members(&[
            ("labour_class", Whole),
            ("line_hours", Whole),
            ("hours", Whole),
        ])),
    ),
    (
        "totals",
        Members(&[
            ("price", Whole),
            ("discount", Whole),
            ("net", Whole),
            ("taxes", Whole),
            ("tax", Whole),
            ("total", Whole),
            ("hours", Whole),
        ]),
    ),
    ("payment_schedule", Whole),
    // The policy's own cautions are about cost and margin.
    ("cautions", EachBut("source", "pricing policy", &Whole)),
    ("may_be_issued", Whole),
    ("assumptions", Whole),
    ("not_measured", Whole),
    ("usual_answers", Whole),
    ("not_priced", Whole),
    ("exclusions", Whole),
    ("adopted_codes", Whole),
]);

const LINE: Shape = Members(&[
    ("position", Whole),
    ("key", Whole),
    ("section", Whole),
    ("assembly", Whole),
    ("assembly_title", Whole),
    ("kind", Whole),
    ("code", Whole),
    ("description", Whole),
    ("group", Whole),
    ("quantity", Whole),
    ("waste", Whole),
    ("shares", Whole),
    (
        "bought",
        Members(&[
            (
                "packs",
                Each(&Members(&[("size", Whole), ("name", Whole), ("count", Whole)])),
            ),
            ("total", Whole),
            ("left_over", Whole),
        ]),
    ),
    ("labour_class", Whole),
    ("hours", Whole),
    ("clock_hours", Whole),
    ("crew", Whole),
    ("factors", Whole),
    ("factors_capped", Whole),
    ("price", Whole),
    ("discount", Whole),
    ("tax_category", Whole),
    ("note", Whole),
]);

const REVISION_MEMBERS: Shape = Members(&[
    ("name", Whole),
    ("revision", Whole),
    ("state", Whole),
    ("created_at", Whole),
    ("created_by", Whole),
    ("issued_at", Whole),
    ("issued_by", Whole),
    ("valid_until", Whole),
    ("ends_at", Whole),
    ("quote", Whole),
    ("number", Whole),
    ("change_order", Whole),
    ("moves", Whole),
    ("notices", Whole),
    ("paper_notes", Whole),
    ("changed_at", Whole),
    ("changed_by", Whole),
    (
        "content",
        Members(&[
            ("request", REQUEST_MEMBERS),
            ("alternates", Each(&ALTERNATE)),
            ("exclusions", Whole),
            ("wording", Whole),
        ]),
    ),
]);

const REVISION_ESTIMATE_MEMBERS: Shape = Members(&[
    ("estimate", ESTIMATE_SHAPE),
    (
        "alternates",
        Each(&Members(&[
            ("name", Whole),
            ("title", Whole),
            ("estimate", ESTIMATE_SHAPE),
            (
                "moved",
                Members(&[
                    ("price", Whole),
                    ("discount", Whole),
                    ("net", Whole),
                    ("tax", Whole),
                    ("total", Whole),
                    ("hours", Whole),
                ]),
            ),
        ])),
    ),
]);

impl Shape {
    /// What is shown of `value`.
    pub fn show(&self, value: Value) -> Value {
        match (self, value) {
            (_, Value::Null) => Value::Null,
            (Whole, value) => value,
            (Named(_, shape), value) => shape.show(value),
            (Members(shown), Value::Object(mut members)) => {
                let shown = shown.iter().filter_map(|(name, shape)| {
                    let value = members.remove(*name)?;
                    Some(((*name).to_owned(), shape.show(value)))
                });
                Value::Object(shown.collect())
            }
            (Each(shape), Value::Array(entries)) => {
                Value::Array(entries.into_iter().map(|entry| shape.show(entry)).collect())
            }
            (EachBut(member, text, shape), Value::Array(entries)) => {
                let hidden = |entry: &Value| entry.get(*member).and_then(Value::as_str) == Some(*text);
                let shown = entries.into_iter().filter(|entry| !hidden(entry));
                Value::Array(shown.map(|entry| shape.show(entry)).collect())
            }
            // Something else than was foreseen: nothing of it.
            _ => Value::Null,
        }
    }

    /// The places in `value`, which stands at the place `at`, that are beyond it: JSON Pointers.
    pub fn beyond(&self, value: &Value, at: &str, found: &mut Vec<String>) {
        match (self, value) {
            (Named(_, shape), value) => shape.beyond(value, at, found),
            (Members(shown), Value::Object(members)) => {
                for (name, inner) in members {
                    let place = format!("{at}/{}", name.replace('~', "~0").replace('/', "~1"));
                    match shown.iter().find(|(own, _)| own == name) {
                        Some((_, shape)) => shape.beyond(inner, &place, found),
                        None => found.push(place),
                    }
                }
            }
            (Each(shape) | EachBut(_, _, shape), Value::Array(entries)) => {
                for (place, entry) in entries.iter().enumerate() {
                    shape.beyond(entry, &format!("{at}/{place}"), found);
                }
            }
            _ => {}
        }
    }

    /// The form of what is sent, without the questions that the shape does not name.
    pub fn asked(&self, mut form: Value) -> Value {
        match self {
            Named(_, shape) => return shape.asked(form),
            Members(shown) => {
                if let Some(Value::Object(questions)) = form.get_mut("properties") {
                    questions.retain(|name, _| shown.iter().any(|(own, _)| own == name));
                    for (name, shape) in *shown {
                        if let Some(question) = questions.get_mut(*name) {
                            *question = shape.asked(question.take());
                        }
                    }
                }
            }
            Each(shape) | EachBut(_, _, shape) => {
                if let Some(entry) = form.get_mut("items") {
                    *entry = shape.asked(entry.take());
                }
            }
            Whole => {}
        }
        form
    }

    /// The schema of what is shown of values of `schema`. Named shapes are put among `components`, where the schemas that
    /// are referred to are found.
    pub fn schema(&self, schema: &Value, components: &mut Map<String, Value>) -> Value {
        if let Named(name, shape) = self {
            let own = shape.schema(schema, components);
            components.insert((*name).to_owned(), own);
            return json!({"$ref": format!("#/components/schemas/{name}")});
        }
        if matches!(self, Whole) {
            return schema.clone();
        }
        let mut schema = resolved(schema, components);
        for word in ["oneOf", "anyOf"] {
            if let Some(Value::Array(alternatives)) = schema.get_mut(word) {
                for one in alternatives {
                    if one.get("type") != Some(&json!("null")) {
                        *one = self.schema(one, components);
                    }
                }
                return schema;
            }
        }
        match self {
            Members(shown) => members_schema(shown, &schema, components),
            Each(shape) | EachBut(_, _, shape) => {
                let entry = schema.get("items").cloned().unwrap_or_default();
                let entry = shape.schema(&entry, components);
                let mut list = schema;
                if let Some(members) = list.as_object_mut() {
                    members.insert("items".to_owned(), entry);
                }
                list
            }
            Whole | Named(..) => schema,
        }
    }
}

fn resolved(schema: &Value, components: &Map<String, Value>) -> Value {
    let name = schema.get("$ref").and_then(Value::as_str);
    let target = name.and_then(|name| components.get(name.rsplit('/').next()?));
    target.unwrap_or(schema).clone()
}

fn members_schema(
    shown: &[(&'static str, Shape)],
    schema: &Value,
    components: &mut Map<String, Value>,
) -> Value {
    let mut properties = Map::new();
    for (name, shape) in shown {
        if let Some(own) = schema.pointer(&format!("/properties/{name}")) {
            properties.insert((*name).to_owned(), shape.schema(own, components));
        }
    }
    let required = schema.get("required").and_then(Value::as_array);
    let required = required.into_iter().flatten();
    let required: Vec<&Value> = required
        .filter(|name| name.as_str().is_some_and(|name| properties.contains_key(name)))
        .collect();
    let mut own = json!({
        "type": "object",
        "required": required,
        "properties": properties,
        "additionalProperties": false,
    });
    if let (Some(text), Some(members)) = (schema.get("description"), own.as_object_mut()) {
        members.insert("description".to_owned(), text.clone());
    }
    own
}
