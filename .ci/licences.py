"""Every crate that the build can pull in has a licence that the project may ship under, and comes from the
public registry. Works offline: reads what cargo has resolved. Advisories are looked up only where the
advisory tool and its database are on the machine, and the output says whether they were."""

import json
import shutil
import subprocess
import sys

# SPDX licences that may be linked into the program. An `OR` needs one of them, an `AND` all of them.
ALLOWED = {
    "0BSD", "Apache-2.0", "Apache-2.0 WITH LLVM-exception", "BSD-2-Clause", "BSD-3-Clause", "BSL-1.0",
    "CC0-1.0", "ISC", "MIT", "MIT-0", "PostgreSQL", "Unicode-3.0", "Unlicense", "Zlib", "blessing",
}
# Licences that are fine for what only tests and benches use.
ALLOWED_IN_TESTS = ALLOWED | {"MPL-2.0", "MPL-2.0+"}


def alternatives(expression):
    """The expression as a list of alternatives, each a set of licences that must all be allowed."""
    tokens = expression.replace("/", " OR ").replace("(", " ( ").replace(")", " ) ").split()
    position = 0

    def term():
        nonlocal position
        if tokens[position] == "(":
            position += 1
            inner = any_of()
            position += 1
            return inner
        name = tokens[position]
        position += 1
        if position < len(tokens) and tokens[position] == "WITH":
            name = f"{name} WITH {tokens[position + 1]}"
            position += 2
        return [{name}]

    def all_of():
        nonlocal position
        left = term()
        while position < len(tokens) and tokens[position] == "AND":
            position += 1
            right = term()
            left = [a | b for a in left for b in right]
        return left

    def any_of():
        nonlocal position
        left = all_of()
        while position < len(tokens) and tokens[position] == "OR":
            position += 1
            left = left + all_of()
        return left

    return any_of()


def shipped(metadata):
    """Ids of the packages that a normal or build dependency leads to from the workspace."""
    nodes = {node["id"]: node for node in metadata["resolve"]["nodes"]}
    found, open_ids = set(), list(metadata["workspace_members"])
    while open_ids:
        package = open_ids.pop()
        if package in found:
            continue
        found.add(package)
        for dependency in nodes[package]["deps"]:
            if any(kind["kind"] != "dev" for kind in dependency["dep_kinds"]):
                open_ids.append(dependency["pkg"])
    return found


def main():
    command = ["cargo", "metadata", "--format-version", "1", "--locked"]
    metadata = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    in_program = shipped(metadata)
    faults = []
    for package in metadata["packages"]:
        allowed = ALLOWED if package["id"] in in_program else ALLOWED_IN_TESTS
        name = f"{package['name']} {package['version']}"
        licence = package["license"]
        if not licence:
            faults.append(f"{name}: names no licence")
        elif not any(choice <= allowed for choice in alternatives(licence)):
            faults.append(f"{name}: {licence}")
        source = package["source"]
        if source is not None and not source.startswith("registry+"):
            faults.append(f"{name}: comes from {source}")
    print(f"{len(metadata['packages'])} packages, {len(in_program)} of them in the program, {len(faults)} faults")
    for fault in faults:
        print("  " + fault)
    if shutil.which("cargo-audit"):
        result = subprocess.run(["cargo", "audit"], check=False)
        print("advisories: checked" if result.returncode == 0 else "advisories: see above")
    else:
        print("advisories: not checked, the advisory tool is not on this machine")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
