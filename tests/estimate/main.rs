//! Tests of the pure core through its public doors. One binary; one module an area.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod bill;
mod bill_case;
mod bill_changes;
mod demo;
mod en16931;
mod en16931_rules;
mod explained;
mod formula;
mod handoff_case;
mod handoff_charts;
mod handoff_crew;
mod handoff_drawing;
mod handoff_figures;
mod handoff_lists;
mod handoff_papers;
mod handoff_sentences;
mod handoff_ubl;
mod job_answers;
mod job_contradictions;
mod job_facts;
mod job_props;
mod job_read;
mod job_request;
mod job_samples;
mod job_schema;
mod labour_hour;
mod labour_limits;
mod packs;
mod price_list;
mod price_list_text;
mod pricing;
mod pricing_faults;
mod pricing_props;
mod pricing_reference;
mod pricing_terms;
mod pricing_wire;
mod quote_alternates;
mod quote_approval;
mod quote_canonical;
mod quote_comparison;
mod quote_draft;
mod quote_life;
mod quote_merge;
mod quote_number;
mod quote_office;
mod quote_revision;
mod reference_rows;
mod rulebook_check;
mod rulebook_comparison;
mod rulebook_decided;
mod rulebook_figures;
mod rulebook_impact;
mod rulebook_shape;
mod rulebook_text;
mod rules_bounds;
mod rules_offices;
mod rules_props;
mod rules_run;
mod rules_sample;
mod seed_data;
mod seed_days;
mod seed_rules;
mod seed_unknown;
mod sizing_air;
mod sizing_bill;
mod sizing_charge;
mod sizing_class;
mod sizing_condensate;
mod sizing_controls;
mod sizing_hanging;
mod sizing_jobs;
mod sizing_line_set;
mod sizing_load;
mod sizing_props;
mod sizing_questions;
mod sizing_refrigerant;
mod sizing_report;
mod sizing_sweating;
mod sizing_wiring;
mod sweep;
mod sweep_jumps;
mod tidy;
mod units;
mod what_matters;
mod whole_jobs;
mod wording;
