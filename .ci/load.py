"""Mixed load by every role against a server with the demonstration data, for as long as is said: the memory of the server
every ten seconds, and every answer that should not have come. Ends with an error where there was one, where a call was
not answered, or where memory grew after the first sixth of the time by more than a quarter.

    python3 .ci/load.py PROGRAM [MINUTES]

PAUSE is the seconds between two calls of one caller, THINK the most seconds of the pause before one call in twenty, and
IDLE the seconds for which the server is told to keep a connection. A connection that the server has closed while nothing
was asked on it is no failure (RFC 9112, section 9.3.1): the call is made once more on a new one, by a name under which it
happens once; how often, is told.
"""

import http.client
import json
import os
import random
import re
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from collections import Counter

JOBS = sorted(os.listdir("seed-data/jobs"))
PAUSE = float(os.environ.get("PAUSE", "0.02"))
THINK = float(os.environ.get("THINK", "0"))
IDLE = os.environ.get("IDLE", "75")


class Refused(Exception):
    """An answer that should not have come."""


class Caller:
    """One caller on one connection."""

    def __init__(self, port, counts):
        self.port, self.counts, self.line = port, counts, None

    def send(self, method, path, body, headers):
        """Sends it, and once more where the kept connection turns out to be closed before a byte of an answer."""
        kept = self.line is not None and self.line.sock is not None
        try:
            if self.line is None:
                self.line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
            self.line.request(method, path, body, headers)
            return self.line.getresponse()
        except (BrokenPipeError, ConnectionResetError):
            self.line = None
            if not kept:
                raise
            self.counts["sent again on a new connection"] += 1
            return self.send(method, path, body, headers)

    def ask(self, role, method, path, body=None, wanted=(200, 201), tag=None, kind="application/json"):
        time.sleep(PAUSE + (random.uniform(0, THINK) if random.random() < 0.05 else 0))
        headers = {"authorization": f"Bearer trk_demo_{role}"}
        if method == "POST":
            headers["idempotency-key"] = str(uuid.uuid4())
        if body is not None:
            headers["content-type"] = kind
            body = body if isinstance(body, bytes) else json.dumps(body).encode()
        if tag:
            headers["if-match"] = tag
        answer = self.send(method, path, body, headers)
        text = answer.read()
        self.counts[f"{method} {answer.status}"] += 1
        if answer.status not in wanted:
            raise Refused(f"{role} {method} {path}: {answer.status} {text[:300]!r}")
        told = json.loads(text) if "json" in answer.headers.get("content-type", "") else text
        return told, answer.headers.get("etag")


def job():
    with open(f"seed-data/jobs/{random.choice(JOBS)}", "rb") as file:
        return json.load(file)


def price(caller):
    whole = job()
    # The field leaves policy, discount and changes by hand to others.
    surveyed = {name: whole[name] for name in ("job", "priced_on") if name in whole}
    caller.ask("field", "POST", "/v1/estimates", surveyed)
    caller.ask("estimator", "POST", "/v1/estimates?explain=true", job())
    caller.ask("estimator", "POST", "/v1/sizing-reports", job())
    wrong = job()
    wrong["job"]["cellar"] = {"height": {"value": "8", "unit": "lb"}}
    caller.ask("estimator", "POST", "/v1/estimates", wrong, wanted=(422,))


def offer(caller):
    address = {"lines": ["7 Pinfold Rise", "Nettlemoor"]}
    customer, _ = caller.ask("estimator", "POST", "/v1/customers", {"name": "M. Tarn", "address": address})
    site = {"customer": customer["id"], "name": "Basement", "address": address}
    site, _ = caller.ask("estimator", "POST", "/v1/sites", site)
    with open("seed-data/jobs/quarrow-metric.json", "rb") as file:
        draft = {"request": json.load(file)}
    quote = {"customer": customer["id"], "site": site["id"], "draft": draft}
    quote, _ = caller.ask("estimator", "POST", "/v1/quotes", quote)
    path = f"/v1/quotes/{quote['id']}"
    _, tag = caller.ask("estimator", "GET", f"{path}/revisions/1")
    change = {"job": {"electrical": {"panel_length": {"value": "30", "unit": "m"}}}}
    draft["alternates"] = [{"name": "long-run", "title": "Panel in the annexe", "change": change}]
    caller.ask("estimator", "PUT", f"{path}/revisions/1", draft, tag=tag)
    caller.ask("estimator", "POST", f"{path}/issue", {"revision": 1})
    caller.ask("estimator", "GET", f"{path}/revisions/1/proposal", wanted=(200, 501))
    caller.ask("field", "GET", f"{path}/revisions/1/estimate")
    caller.ask("estimator", "GET", f"{path}/revisions/1/drawing")
    caller.ask("estimator", "POST", f"{path}/accept", {"revision": 1, "accepted_by": "M. Tarn"})
    number = quote["number"]
    handed, _ = caller.ask("accounting", "GET", f"/v1/accounting/quotes/{number}")
    receipt = {"reference": f"J-{number}", "total": handed["totals"]["total"]}
    caller.ask("accounting", "PUT", f"/v1/accounting/quotes/{number}/receipt", receipt)


def pull(caller):
    after = ""
    for _ in range(20):
        page, _ = caller.ask("accounting", "GET", f"/v1/accounting/quotes?limit=100{after}")
        after = f"&after={page['next']}"
        if not page["more"]:
            break
    caller.ask("accounting", "GET", "/v1/accounting/without-receipt?limit=50")


def rules(caller):
    draft, tag = caller.ask("rule_keeper", "POST", "/v1/rulebook-drafts", {})
    path = f"/v1/rulebook-drafts/{draft['id']}"
    part, tag = caller.ask("rule_keeper", "GET", f"{path}/parts/line/FOLLOW-UP%2F1")
    _, tag = caller.ask("rule_keeper", "PUT", f"{path}/parts/line/FOLLOW-UP%2F1", part, tag=tag)
    caller.ask("rule_keeper", "GET", f"{path}/findings")
    caller.ask("rule_keeper", "POST", f"{path}/impact", job())
    caller.ask("rule_keeper", "DELETE", path, tag=tag, wanted=(204,))


def look(caller):
    for role, path in [("owner", "/v1/audit-entries?limit=100"), ("auditor", "/v1/quotes?limit=100"),
                       ("auditor", "/v1/items?limit=500"), ("field", "/v1/job-spec-form"),
                       ("rule_keeper", "/v1/facts"), ("owner", "/openapi.json"), ("owner", "/readyz")]:
        caller.ask(role, "GET", path)
    caller.ask("field", "GET", "/v1/policies", wanted=(403,))
    caller.ask("nobody", "GET", "/v1/quotes", wanted=(401,))
    caller.ask("owner", "POST", "/v1/estimates", b"{", wanted=(400,))


def lists(caller):
    with open("seed-data/price-lists/larkholt-mapping.json", "rb") as file:
        caller.ask("rule_keeper", "POST", "/v1/price-list-mappings", file.read(), wanted=(201, 409))
    with open("seed-data/price-lists/larkholt-september-2025.csv", "rb") as file:
        path = "/v1/price-lists?mapping=larkholt&valid_from=2025-09-01"
        caller.ask("rule_keeper", "POST", path, file.read(), kind="text/csv")


def work(port, ends, counts, wrong):
    caller = Caller(port, counts)
    tasks = [price, price, price, offer, offer, pull, rules, look, look, lists]
    while time.monotonic() < ends:
        try:
            random.choice(tasks)(caller)
        except Refused as fault:
            wrong.append(str(fault))
        except (OSError, http.client.HTTPException) as fault:
            wrong.append(repr(fault))
            caller.line = None


def memory(process):
    """What the server has in memory, in MiB."""
    with open(f"/proc/{process.pid}/status", encoding="ascii") as status:
        return int(re.search(r"VmRSS:\s+(\d+)", status.read()).group(1)) / 1024


def main(program, minutes):
    with tempfile.TemporaryDirectory() as folder, open(f"{folder}/log", "wb") as log:
        serve = [program, "serve", "--demo", "--data", f"{folder}/office.sqlite", "--listen", "127.0.0.1:0"]
        serve += ["--idle-time", IDLE]
        with subprocess.Popen(serve, stdout=log, stderr=log) as process:
            try:
                found = None
                while not found and process.poll() is None:
                    time.sleep(0.1)
                    with open(f"{folder}/log", encoding="utf-8", errors="replace") as text:
                        found = re.search(r"listening on http://127\.0\.0\.1:(\d+)", text.read())
                return drive(process, int(found.group(1)), minutes)
            finally:
                process.terminate()


def drive(process, port, minutes):
    begun = time.monotonic()
    ends, counts, wrong, seen = begun + minutes * 60, Counter(), [], []
    workers = [threading.Thread(target=work, args=(port, ends, counts, wrong), daemon=True) for _ in range(4)]
    for worker in workers:
        worker.start()
    while time.monotonic() < ends:
        time.sleep(min(10, max(0.0, ends - time.monotonic())))
        seen.append((time.monotonic() - begun, memory(process)))
        if len(seen) % 6 == 1:
            print(f"{seen[-1][0]:6.0f} s {seen[-1][1]:7.1f} MiB {sum(counts.values()):8} answers {len(wrong):4} wrong", flush=True)
    for worker in workers:
        worker.join(90)
    first = seen[: max(1, len(seen) // 6)]
    early = max(size for _, size in first)
    print(f"up to {first[-1][0]:.0f} s {early:.1f} MiB at most, at the end {seen[-1][1]:.1f} MiB")
    print(", ".join(f"{name}: {count}" for name, count in sorted(counts.items())))
    for one, times in Counter(wrong).most_common(20):
        print(f"{times} x {one}")
    return 1 if wrong or seen[-1][1] > early * 1.25 else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], float(sys.argv[2]) if len(sys.argv) > 2 else 30))
