"""Holds every UBL document that the tests wrote against the official schemas, with a general XML library (lxml).

Usage: ubl_schemas.py FOLDER. The schemas stand in tests/reference/ubl-2.1/ as OASIS published them."""

import hashlib
import pathlib
import sys

from lxml import etree

SCHEMAS = pathlib.Path(__file__).resolve().parent.parent / "tests/reference/ubl-2.1"
# The beginning of each file's SHA-256, so that nobody mends a schema instead of a document.
PINNED = {
    "maindoc/UBL-Quotation-2.1.xsd": "0e0cc55192312b05",
    "maindoc/UBL-CreditNote-2.1.xsd": "a54651b1225052f8",
    "common/UBL-CommonAggregateComponents-2.1.xsd": "939172ad8dd057cd",
}


def main(folder):
    for name, digest in PINNED.items():
        found = hashlib.sha256((SCHEMAS / name).read_bytes()).hexdigest()
        if not found.startswith(digest):
            sys.exit(f"{name} is not the schema that OASIS published")
    schemas = {
        kind: etree.XMLSchema(etree.parse(SCHEMAS / f"maindoc/UBL-{kind}-2.1.xsd"))
        for kind in ("Quotation", "Invoice", "CreditNote")
    }
    documents = sorted(pathlib.Path(folder).glob("*.xml"))
    if not documents:
        sys.exit(f"there is no document in {folder}: run the tests first")
    faulty, counts = 0, dict.fromkeys(schemas, 0)
    for path in documents:
        tree = etree.parse(path)
        kind = etree.QName(tree.getroot()).localname
        counts[kind] += 1
        if not schemas[kind].validate(tree):
            faulty += 1
            for fault in schemas[kind].error_log:
                print(f"{path.name}:{fault.line}: {fault.message}")
    # A schema that lets everything through would prove nothing: a document with a member too many must be refused.
    tree = etree.parse(documents[0])
    etree.SubElement(tree.getroot(), "surplus")
    if schemas[etree.QName(tree.getroot()).localname].validate(tree):
        sys.exit("the schema refuses nothing")
    if not all(counts.values()):
        sys.exit(f"a kind of document is missing: {counts}")
    told = ", ".join(f"{count} {kind}" for kind, count in counts.items())
    print(f"{told}: {faulty} faulty")
    sys.exit(1 if faulty else 0)


if __name__ == "__main__":
    main(sys.argv[1])
