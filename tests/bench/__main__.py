"""`python -m tests.bench [MODULE ...]`: prints one JSON line a figure. Figures, not assertions."""

import importlib
import json
import pkgutil
import sys

import tests.bench


def main(names: list[str]) -> int:
    if len(names) > 1 and names[0] == "strip":  # one instance, packed and printed
        from tests.bench import strip

        return strip.main(names[1:])
    known = sorted(m.name for m in pkgutil.iter_modules(tests.bench.__path__) if m.name[0] != "_")
    unknown = [name for name in names if name not in known]
    if unknown:
        print(f"No such bench: {', '.join(unknown)}. Known: {', '.join(known)}.", file=sys.stderr)
        return 2
    for name in names or known:
        module = importlib.import_module(f"tests.bench.{name}")
        for figure, value, unit in module.figures():
            line = {"bench": name, "figure": figure, "value": value, "unit": unit}
            print(json.dumps(line), flush=True)
    return 0


raise SystemExit(main(sys.argv[1:]))
