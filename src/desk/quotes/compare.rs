//! Comparisons of revisions, with the money that each cause moved.

use estimate::quote::causes::{Causes, Differing, Mix, Side};
use estimate::quote::comparison::{Compared, Comparison, mixed_request, requests_differ};
use estimate::quote::moved::MovedFault;
use estimate::quote::revision::Sources;
use serde_json::Value;

use super::At;
use super::view::{name, tree};
use super::work::Figures;
use crate::desk::{Desk, DeskFault};

impl From<MovedFault> for DeskFault {
    fn from(fault: MovedFault) -> Self {
        Self::Defect(fault.to_string())
    }
}

impl Desk {
    /// Everything in which two revisions of an offer or a change order differ, and why the money moved.
    ///
    /// # Errors
    /// One of them is not there or cannot be priced.
    pub fn comparison(&self, from: &At, with: u32) -> Result<Value, DeskFault> {
        let stored = self.stored(&from.quote)?;
        let other = At {
            revision: with,
            ..from.clone()
        };
        let mut told = self.compared(&self.figures(&stored, from)?, &self.figures(&stored, &other)?)?;
        if let Value::Object(members) = &mut told {
            let names = [("from", from), ("to", &other)];
            for (member, at) in names {
                let name = name(&stored, super::change::row(&stored, at)?);
                members.insert(member.to_owned(), Value::String(name));
            }
        }
        Ok(told)
    }

    pub(super) fn compared(&self, old: &Figures, new: &Figures) -> Result<Value, DeskFault> {
        fn side(figures: &Figures) -> Compared<'_> {
            Compared {
                request: &figures.request,
                estimated: &figures.estimated,
                exclusions: &figures.exclusions,
            }
        }
        let (from, to) = (&old.sources, &new.sources);
        let differing = Differing {
            rulebook: from.rulebook != to.rulebook,
            prices: from.catalogue != to.catalogue || from.priced_on != to.priced_on,
            policy: from.policy != to.policy,
            ..requests_differ(&old.request, &new.request)
        };
        let causes = Causes::walk(&old.estimated, &new.estimated, differing, |mix: Mix| {
            self.mixed(old, new, mix)
        })?;
        let mut told = tree(&Comparison::between(side(old), side(new))?)?;
        if let Value::Object(members) = &mut told {
            members.insert("causes".to_owned(), tree(&causes)?);
        }
        Ok(told)
    }

    /// The estimate of a mix of both sides; none where the job does not fit the rules of the mix, or these do not
    /// fit the catalogue.
    fn mixed(
        &self,
        old: &Figures,
        new: &Figures,
        mix: Mix,
    ) -> Result<Option<estimate::quote::estimated::Estimated>, DeskFault> {
        let of = |side| if side == Side::Old { old } else { new };
        let mut request = mixed_request(&of(mix.job).request, &of(mix.by_hand).request);
        if let Value::Object(members) = &mut request {
            // What the request names of the office is said by the mix.
            members.retain(|name, _| {
                !["rulebook", "rulebook_version", "policy", "priced_on"].contains(&name.as_str())
            });
        }
        let prices = &of(mix.prices).sources;
        let sources = Sources {
            program: prices.program.clone(),
            rulebook: of(mix.rulebook).sources.rulebook.clone(),
            policy: of(mix.policy).sources.policy.clone(),
            catalogue: prices.catalogue,
            priced_on: prices.priced_on,
        };
        let estimated = self
            .past(&sources)
            .and_then(|office| office.price_on(&request, sources.priced_on));
        match estimated {
            Ok(estimated) => Ok(Some(estimated)),
            Err(
                DeskFault::Rulebook(_)
                | DeskFault::Catalogue(_)
                | DeskFault::Policy { .. }
                | DeskFault::Input(_)
                | DeskFault::Estimate(_),
            ) => Ok(None),
            Err(other) => Err(other),
        }
    }
}
