//! Codes of open standards: units, tax categories, kinds of tax and of invoice.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::quantity::unit::Unit;

/// Our units by the common codes of UN/ECE Recommendation 20, for the units that have one.
pub const UNIT_CODES: &[(&str, &str)] = &[
    ("each", "EA"),
    ("ft", "FOT"),
    ("in", "INH"),
    ("yd", "YRD"),
    ("mi", "SMI"),
    ("mm", "MMT"),
    ("cm", "CMT"),
    ("m", "MTR"),
    ("km", "KMT"),
    ("ft2", "FTK"),
    ("in2", "INK"),
    ("m2", "MTK"),
    ("ft3", "FTQ"),
    ("m3", "MTQ"),
    ("gal", "GLL"),
    ("qt", "QTL"),
    ("pt", "PTL"),
    ("floz", "OZA"),
    ("L", "LTR"),
    ("mL", "MLT"),
    ("oz", "ONZ"),
    ("lb", "LBR"),
    ("gr", "GRN"),
    ("mg", "MGM"),
    ("g", "GRM"),
    ("kg", "KGM"),
    ("s", "SEC"),
    ("min", "MIN"),
    ("h", "HUR"),
    ("day", "DAY"),
    ("week", "WEE"),
];

/// One of a thing that is not counted, as Recommendation 20 has it.
pub const LUMP_SUM: &str = "LS";

/// The reason "discount" for an allowance, in UNCL 5189.
pub const DISCOUNT: &str = "95";

/// The kind of document that gives back, in UNTDID 1001.
pub const CREDIT_NOTE: &str = "381";

/// What says by which specification an invoice is made out: EN 16931 itself (BT-24).
pub const EN_16931: &str = "urn:cen.eu:en16931:2017";

/// The code of a unit, where it has one.
pub fn unit_code(unit: Unit) -> Option<&'static str> {
    let symbol = unit.symbol();
    UNIT_CODES
        .iter()
        .find(|(known, _)| *known == symbol)
        .map(|(_, code)| *code)
}

/// A category of tax: a letter of UNCL 5305.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TaxCode {
    /// Charged at a rate.
    Standard,
    /// Charged at a rate of nothing.
    Zero,
    /// Exempt.
    Exempt,
    /// Outside the scope.
    OutsideScope,
}

impl TaxCode {
    /// The category of a letter.
    pub fn of_letter(letter: &str) -> Option<Self> {
        match letter {
            "S" => Some(Self::Standard),
            "Z" => Some(Self::Zero),
            "E" => Some(Self::Exempt),
            "O" => Some(Self::OutsideScope),
            _ => None,
        }
    }

    /// Its letter.
    pub fn letter(self) -> &'static str {
        match self {
            Self::Standard => "S",
            Self::Zero => "Z",
            Self::Exempt => "E",
            Self::OutsideScope => "O",
        }
    }
}

/// A kind of tax on a sale: a code of UN/EDIFACT 5153.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum TaxScheme {
    /// Value added tax; the only one that EN 16931 knows.
    #[default]
    #[serde(rename = "VAT")]
    ValueAdded,
    /// Goods and services tax.
    #[serde(rename = "GST")]
    GoodsAndServices,
    /// Sales tax of a state or a province.
    #[serde(rename = "STT")]
    StateSales,
    /// Local sales tax.
    #[serde(rename = "LOC")]
    LocalSales,
    /// Any other.
    #[serde(rename = "OTH")]
    Other,
}

impl TaxScheme {
    /// Every one.
    pub const ALL: [Self; 5] = [
        Self::ValueAdded,
        Self::GoodsAndServices,
        Self::StateSales,
        Self::LocalSales,
        Self::Other,
    ];
}

impl fmt::Display for TaxScheme {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::ValueAdded => "VAT",
            Self::GoodsAndServices => "GST",
            Self::StateSales => "STT",
            Self::LocalSales => "LOC",
            Self::Other => "OTH",
        })
    }
}

/// A kind of invoice: a code of UNTDID 1001.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum InvoiceKind {
    /// A deposit, before work has been done.
    Deposit,
    /// For a part of the work.
    Progress,
    /// The last, or the only one.
    Final,
}

impl InvoiceKind {
    /// Its code.
    pub fn code(self) -> &'static str {
        match self {
            Self::Deposit => "386",
            Self::Progress => "326",
            Self::Final => "380",
        }
    }
}
