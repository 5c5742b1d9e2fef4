"""The whole story of a job, by a client that was made from the contract: python story.py ADDRESS JOB-FILE

The service is one with the demonstration data, whose keys are known to everybody.
"""

import json
import sys
from decimal import Decimal
from typing import TypeVar
from uuid import uuid4

from made.client import AuthenticatedClient
from made.client.api.accounting import list_accounting_quotes, put_receipt, read_accounting_quote
from made.client.api.customers import create_customer, create_site
from made.client.api.estimates import create_estimate
from made.client.api.papers import read_proposal
from made.client.api.quotes import accept, create_quote, edit_draft, issue, read_revision
from made.client.api.rules import read_form
from made.client.models.accepted_quote import AcceptedQuote
from made.client.models.accounting_feed_entry import AccountingFeedEntry
from made.client.models.accounting_feed_page import AccountingFeedPage
from made.client.models.address import Address
from made.client.models.customer import Customer
from made.client.models.draft_of_a_quote import DraftOfAQuote
from made.client.models.estimate import Estimate
from made.client.models.estimate_for_field import EstimateForField
from made.client.models.estimate_request import EstimateRequest
from made.client.models.money import Money
from made.client.models.move import Move
from made.client.models.new_customer import NewCustomer
from made.client.models.new_quote import NewQuote
from made.client.models.new_receipt import NewReceipt
from made.client.models.new_site import NewSite
from made.client.models.problem import Problem
from made.client.models.quote import Quote
from made.client.models.quote_revision import QuoteRevision
from made.client.models.receipt import Receipt
from made.client.models.site import Site
from made.client.models.word_of_customer import WordOfCustomer
from made.client.types import UNSET, File, Unset


T = TypeVar("T")


def told(kind: type[T], answer: object) -> T:
    """What was answered, once it is of the wanted kind; a problem ends the story."""
    assert isinstance(answer, kind), answer
    return answer


def main(address: str, job_file: str) -> None:
    def by(role: str) -> AuthenticatedClient:
        return AuthenticatedClient(base_url=address, token=f"trk_demo_{role}")

    field, estimator, ledger = by("field"), by("estimator"), by("accounting")

    # The survey: the form says what may be asked, and the field sends what it saw. It sees no cost.
    assert read_form.sync(client=field) is not None
    with open(job_file, encoding="utf-8") as text:
        request = EstimateRequest.from_dict(json.load(text))
    seen = create_estimate.sync_detailed(client=field, body=request)
    assert "cost" not in json.loads(seen.content)["totals"]
    told_part = seen.parsed
    assert isinstance(told_part, Estimate | EstimateForField), told_part

    # The estimate, as the office sees it.
    estimate = told(Estimate, create_estimate.sync(client=estimator, body=request, explain=True))
    totals = estimate.totals
    assert estimate.lines
    assert Decimal(totals.net.amount) + Decimal(totals.tax.amount) == Decimal(totals.total.amount)

    # The quote.
    lines = Address(lines=["7 Pinfold Rise", "Nettlemoor"])
    customer = told(Customer, create_customer.sync(client=estimator, body=NewCustomer(name="M. Tarn", address=lines)))
    new_site = NewSite(customer=customer.id, name="Basement", address=lines)
    site = told(Site, create_site.sync(client=estimator, body=new_site))
    new_quote = NewQuote(customer=customer.id, site=site.id, draft=DraftOfAQuote(request=request))
    name = f"story-{uuid4()}"
    quote = told(Quote, create_quote.sync(client=estimator, body=new_quote, idempotency_key=name))
    again = told(Quote, create_quote.sync(client=estimator, body=new_quote, idempotency_key=name))
    assert again.id == quote.id, "sent again, it has one effect"

    # An alternate, under the tag of what was read.
    read = read_revision.sync_detailed(quote.id, 1, client=estimator)
    told(QuoteRevision, read.parsed)
    change = {"job": {"electrical": {"panel_length": {"value": "95", "unit": "ft"}}}}
    draft = DraftOfAQuote.from_dict(
        {
            "request": request.to_dict(),
            "alternates": [{"name": "long-run", "title": "Panel in the annexe", "change": change}],
        }
    )
    tag = read.headers["etag"]
    told(QuoteRevision, edit_draft.sync(quote.id, 1, client=estimator, body=draft, if_match=tag))
    late = told(Problem, edit_draft.sync(quote.id, 1, client=estimator, body=draft, if_match=tag))
    assert late.status == 412, "what was read is not what stands now"

    # Issue and proposal.
    issued = told(QuoteRevision, issue.sync(quote.id, client=estimator, body=Move(revision=1)))
    assert issued.state == "issued"
    paper = told(File, read_proposal.sync(quote.id, 1, client=estimator))
    assert paper.payload.read(5) == b"%PDF-"

    # The customer's word.
    word = WordOfCustomer(revision=1, accepted_by="M. Tarn", reference="PO-7", alternates=["long-run"])
    assert told(QuoteRevision, accept.sync(quote.id, client=estimator, body=word)).state == "accepted"

    # The ledger reads on until it has the offer, and says so.
    after: str | Unset = UNSET
    found: list[AccountingFeedEntry] = []
    while True:
        page = told(AccountingFeedPage, list_accounting_quotes.sync(client=ledger, limit=2, after=after))
        found += [entry for entry in page.data if entry.number == quote.number]
        after = page.next_
        if not page.more:
            break
    [entry] = found
    handed = told(AcceptedQuote, read_accounting_quote.sync(entry.number, client=ledger))
    assert handed.chosen == ["long-run"]
    total = handed.totals.total
    receipt = NewReceipt(reference=f"J-{entry.number}", total=total)
    assert told(Receipt, put_receipt.sync(entry.number, client=ledger, body=receipt)).reference == receipt.reference
    cent = Decimal(total.amount) + Decimal("0.01")
    receipt.total = Money(amount=str(cent), currency=total.currency)
    refused = told(Problem, put_receipt.sync(entry.number, client=ledger, body=receipt))
    assert refused.type_ == "/problems/receipt-differs"

    print(f"Python: {entry.number} from survey to receipt, {total.amount} {total.currency}")


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
