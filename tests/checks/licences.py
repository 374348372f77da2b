"""Reads `cargo metadata` on standard input; fails when a package's licence is not allowed."""

import json
import re
import sys


def allowed(expression: str, names: set[str]) -> bool:
    """Whether an SPDX expression can be met with the names allowed."""
    tokens = re.findall(r"\(|\)|[^\s()]+", expression.replace("/", " OR "))
    joined: list[str] = []
    for token in tokens:
        if joined and (token == "WITH" or joined[-1].endswith(" WITH")):
            joined[-1] += " " + token
        else:
            joined.append(token)
    at = 0

    def choice() -> bool:
        nonlocal at
        value = both()
        while at < len(joined) and joined[at] == "OR":
            at += 1
            value = both() or value
        return value

    def both() -> bool:
        nonlocal at
        value = single()
        while at < len(joined) and joined[at] == "AND":
            at += 1
            value = single() and value
        return value

    def single() -> bool:
        nonlocal at
        token = joined[at]
        at += 1
        if token == "(":
            value = choice()
            at += 1
            return value
        return token in names

    return choice()


def main() -> int:
    names = {
        line.strip()
        for line in open(sys.argv[1], encoding="utf-8")
        if line.strip() and not line.startswith("#")
    }
    # The check itself must be able to fail.
    assert allowed("(MIT OR GPL-3.0) AND ISC", names)
    assert not allowed("MIT AND GPL-3.0-only", names)
    packages = json.load(sys.stdin)["packages"]
    bad = []
    for package in packages:
        licence = package.get("license")
        if not licence or not allowed(licence, names):
            bad.append(f"{package['name']} {package['version']}: {licence or 'no licence stated'}")
    for line in bad:
        print(line)
    print(f"licences: {len(packages)} packages read, {len(bad)} not allowed")
    return 1 if bad else 0


sys.exit(main())
