// The whole story of a job, by a client that was made from the contract: node story.js ADDRESS JOB-FILE
//
// The service is one with the demonstration data, whose keys are known to everybody.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import createClient, { type Client } from "openapi-fetch";
import type { components, paths } from "./made/contract.js";

type Shapes = components["schemas"];
type Money = Shapes["Money"];

const [address, jobFile] = process.argv.slice(2);
assert(address !== undefined && jobFile !== undefined, "an address and a file with a job are needed");

function as(role: string): Client<paths> {
  return createClient<paths>({ baseUrl: address ?? "", headers: { authorization: `Bearer trk_demo_${role}` } });
}

/** What was answered; a problem ends the story. */
function told<T>(answer: { data?: T; error?: Shapes["Problem"]; response: Response }): T {
  if (answer.data === undefined) {
    throw new Error(`${answer.response.url}: ${answer.response.status} ${JSON.stringify(answer.error)}`);
  }
  return answer.data;
}

/** Minor units: money is exact, and no number of this language touches it. */
function minor(money: Money): bigint {
  const [whole = "0", part = ""] = money.amount.split(".");
  return BigInt(whole + part.padEnd(2, "0"));
}

const field = as("field");
const estimator = as("estimator");
const ledger = as("accounting");

// The survey: the form says what may be asked, and the field sends what it saw. It sees no cost.
const form = told(await field.GET("/v1/job-spec-form"));
assert.equal(typeof form, "object");
const request = JSON.parse(readFileSync(jobFile, "utf8")) as Shapes["EstimateRequest"];
const seen = told(await field.POST("/v1/estimates", { body: request }));
assert(!("cost" in seen.totals), "the field sees no cost");

// The estimate, as the office sees it.
const estimate = told(await estimator.POST("/v1/estimates", { body: request, params: { query: { explain: true } } }));
assert(estimate.lines.length > 0);
const { net, tax, total } = estimate.totals;
assert.equal(minor(net) + minor(tax), minor(total));
const wrong = await estimator.POST("/v1/estimates", { body: { ...request, job: {} } as Shapes["EstimateRequest"] });
assert.equal(wrong.response.status, 422);
assert(wrong.error?.errors?.every((fault) => fault.pointer.startsWith("/job")), "each fault has its place");

// The quote.
const address_ = { lines: ["7 Pinfold Rise", "Nettlemoor"] };
const customer = told(await estimator.POST("/v1/customers", { body: { name: "Mr and Mrs Tarn-Hestley", address: address_ } }));
const site = told(await estimator.POST("/v1/sites", { body: { customer: customer.id, name: "Basement", address: address_ } }));
const newQuote: Shapes["NewQuote"] = { customer: customer.id, site: site.id, draft: { request } };
const name = { header: { "Idempotency-Key": `story-${process.pid}-${Date.now()}` } };
const quote = told(await estimator.POST("/v1/quotes", { body: newQuote, params: name }));
const again = told(await estimator.POST("/v1/quotes", { body: newQuote, params: name }));
assert.equal(again.id, quote.id, "sent again, it has one effect");

// An alternate, under the tag of what was read.
const place = { id: quote.id, revision: 1 };
const read = await estimator.GET("/v1/quotes/{id}/revisions/{revision}", { params: { path: place } });
told(read);
const tag = read.response.headers.get("etag");
assert(tag !== null);
const draft: Shapes["QuoteDraft"] = {
  request,
  alternates: [{
    name: "long-run",
    title: "Panel in the annexe",
    change: { job: { electrical: { panel_length: { value: "95", unit: "ft" } } } },
  }],
};
const path = "/v1/quotes/{id}/revisions/{revision}" as const;
told(await estimator.PUT(path, { body: draft, params: { path: place, header: { "If-Match": tag } } }));
const late = await estimator.PUT(path, { body: draft, params: { path: place, header: { "If-Match": tag } } });
assert.equal(late.response.status, 412, "what was read is not what stands now");

// Issue and proposal.
const own = { path: { id: quote.id } };
const issued = told(await estimator.POST("/v1/quotes/{id}/issue", { body: { revision: 1 }, params: own }));
assert.equal(issued.state, "issued");
const proposal = "/v1/quotes/{id}/revisions/{revision}/proposal" as const;
const paper = told(await estimator.GET(proposal, { params: { path: place }, parseAs: "arrayBuffer" }));
assert.equal(Buffer.from(paper).subarray(0, 5).toString(), "%PDF-");

// The customer's word.
const word: Shapes["WordOfCustomer"] = { revision: 1, accepted_by: "O. Tarn-Hestley", reference: "PO-7", alternates: ["long-run"] };
const accepted = told(await estimator.POST("/v1/quotes/{id}/accept", { body: word, params: own }));
assert.equal(accepted.state, "accepted");

// The ledger reads on until it has the offer, and says so.
let after: string | undefined;
let entry: Shapes["AccountingFeedEntry"] | undefined;
for (;;) {
  const query = after === undefined ? { limit: 2 } : { limit: 2, after };
  const page = told(await ledger.GET("/v1/accounting/quotes", { params: { query } }));
  entry = page.data.find((one) => one.number === quote.number) ?? entry;
  after = page.next;
  if (!page.more) break;
}
assert(entry !== undefined, "the feed has the offer");
const number = { number: entry.number };
const handed = told(await ledger.GET("/v1/accounting/quotes/{number}", { params: { path: number } }));
if (typeof handed === "string") throw new Error("JSON was asked for");
assert.deepEqual(handed.chosen, ["long-run"]);
const where = "/v1/accounting/quotes/{number}/receipt" as const;
const body = { reference: `J-${entry.number}`, total: handed.totals.total };
const receipt = told(await ledger.PUT(where, { body, params: { path: number } }));
assert.equal(receipt.reference, body.reference);
const cent = (minor(body.total) + 1n).toString().padStart(3, "0");
const other = { amount: `${cent.slice(0, -2)}.${cent.slice(-2)}`, currency: body.total.currency };
const refused = await ledger.PUT(where, { body: { ...body, total: other }, params: { path: number } });
assert.equal(refused.error?.type, "/problems/receipt-differs");

console.log(`TypeScript: ${entry.number} from survey to receipt, ${body.total.amount} ${body.total.currency}`);
