//! From the bill's quantities and hours to money: cost, price, tax and payment schedule.
//!
//! In: the bill, the policy, a discount. Out: amounts that reconcile to the cent. Money enters here and
//! nowhere before. All amounts are whole minor units of one currency; each of the following is rounded once,
//! by the policy's mode.
//!
//! 1. **Line cost.** Packs × pack price, quantity × unit cost, or the amount. The hours of a labour class at
//!    one rate are added up, rounded as the policy says, costed, and the cost is shared over their lines by
//!    hours.
//! 2. **Lines of the policy.** Freight on goods; consumables, a percentage of material other than equipment;
//!    and, where the contractor is the consumer, use tax on goods and consumables by tax category.
//! 3. **Direct cost** is the sum of all lines; **contingency** a percentage of it; **overhead** a percentage
//!    of both; the three are **full cost**.
//! 4. **Price.** By margin: full cost ÷ (1 − margin − warranty reserve). By markup: full cost × (1 + markup)
//!    ÷ (1 − warranty reserve). The reserve is its percentage of that price. The price is shared over the lines by cost. The **subcontract markup**, a percentage of the cost of
//!    other firms' work, is added to their lines on top.
//! 5. **Fixed prices** take the place of computed ones; the other lines keep theirs, and the difference is
//!    profit or loss.
//! 6. **Discount**, a percentage or an amount of the price, is shared over the lines by price. **Net** is
//!    the price less the discount.
//!    **Profit** is net less full cost and warranty reserve: what a discount takes and what a subcontract
//!    markup brings is in it. A net below direct cost stops the offer.
//! 7. **Tax** by category on net of its lines; **total** is net and tax; the **payment schedule** adds up to
//!    it.
//!
//! What is shared out goes by largest remainder: each share is within a minor unit of the exact one, and the
//! shares add up. A line with a cost below nothing is a credit and bears its part with the opposite sign.
//! A job whose cost, price or discounted price would be below nothing is refused, and so is one that comes to more
//! than any job does.

mod beyond;
mod caution;
mod checked;
mod cost;
mod explain;
mod explain_cost;
mod explain_policy;
mod explain_price;
mod fault;
pub mod policy;
mod price;
pub mod result;
mod schedule;
mod slips;
pub mod tax;
mod wire;
mod workings;

pub use caution::SOURCE as PRICING_POLICY;
pub use checked::{CheckedPolicy, MOST_DUE_DAYS, PolicyFault};
pub use explain::{Document, Origins, explain};
pub use fault::PricingFault;
pub use price::{Terms, price, unfit};
pub use result::{Caution, LabourTotal, Line, Lines, Payment, Priced, TaxLine, Totals};
pub use slips::{MARKUP_MOST, slips};
