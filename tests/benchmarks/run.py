"""Run the benchmarks, each printing a ratio against its baseline: ``python tests/benchmarks/run.py [name …]``.

Each ``bench_*.py`` beside this file has ``run() -> list of (name, ratio, baseline)``.
"""

from __future__ import annotations

import importlib.util
import pathlib
import sys

HERE = pathlib.Path(__file__).parent


def load(path):
    """Import one benchmark by its path."""
    spec = importlib.util.spec_from_file_location(path.stem, path)
    module = importlib.util.module_from_spec(spec)
    sys.modules[path.stem] = module
    spec.loader.exec_module(module)
    return module


def main(wanted):
    """Run the benchmarks whose names contain one of the words *wanted*, or all."""
    for path in sorted(HERE.glob("bench_*.py")):
        if not wanted or any(word in path.stem for word in wanted):
            for name, ratio, baseline in load(path).run():
                sys.stdout.write(f"{ratio:9.3g} ×  {name}  (against {baseline})\n")
                sys.stdout.flush()


if __name__ == "__main__":
    main(sys.argv[1:])
