"""Lists every crate that is built into an edition, with its licence and the licence's text as the crate carries it.

Usage: licences.py TRIPLE
Fails where a crate names no licence.
"""

import json
import subprocess
import sys
from pathlib import Path

triple = sys.argv[1]
found = subprocess.run(
    ["cargo", "metadata", "--format-version", "1", "--locked", "--filter-platform", triple],
    check=True,
    capture_output=True,
    text=True,
)
about = json.loads(found.stdout)
packages = {p["id"]: p for p in about["packages"]}
nodes = {n["id"]: n for n in about["resolve"]["nodes"]}

# From the root through what is linked: neither what only tests need nor what only builds need.
wanted, left = set(), [about["resolve"]["root"]]
while left:
    here = left.pop()
    if here in wanted:
        continue
    wanted.add(here)
    for dep in nodes[here]["deps"]:
        if any(kind["kind"] is None for kind in dep["dep_kinds"]):
            left.append(dep["pkg"])
wanted.discard(about["resolve"]["root"])

texts: dict[str, list[str]] = {}
lines, nameless = [], []
for package in sorted((packages[p] for p in wanted), key=lambda p: (p["name"], p["version"])):
    name = f"{package['name']} {package['version']}"
    licence = package["license"] or (package["license_file"] and "see its text")
    if not licence:
        nameless.append(name)
        continue
    lines.append(f"{name}: {licence}" + (f", {package['repository']}" if package["repository"] else ""))
    folder = Path(package["manifest_path"]).parent
    for path in sorted(folder.iterdir()):
        if path.is_file() and path.name.upper().startswith(("LICEN", "COPYING", "NOTICE", "UNLICEN")):
            text = path.read_text(encoding="utf-8", errors="replace").replace("\r\n", "\n").strip()
            texts.setdefault(text, []).append(name)
if nameless:
    sys.exit(f"these name no licence: {', '.join(nameless)}")

print("smirch is built with what follows, each under the licence named. Their texts come after the list.\n")
print("\n".join(lines))
for text, names in sorted(texts.items(), key=lambda item: item[1]):
    print("\n" + "=" * 100)
    print("Of " + ", ".join(sorted(set(names))) + ":\n")
    print(text)
