"""Time from the command to the first hour marched: `python benchmarks/startup.py [--repeats N] [CASE ...]`.

Each measurement is a new process that does what `stemwall run CASE --variant base` does until the first hour is
marched.  The second run of a case is what counts: kernels are compiled, weather was read before.  Without CASE,
the default case and a starter of every detail are measured.  Cold, nothing is kept yet, and the first run
compiles.  The times are those of the clock, so the machine should be idle; the time of the processor until marching,
beside them, says how far it was not.
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

STAGES = ("python", "import", "read", "build", "solver", "prepare", "first step", "first hour")
WARM_LIMIT, COLD_LIMIT = 1.0, 60.0
DETAILS = ("crawlspace", "vented", "basement", "icf", "slab")

CHILD = """
import sys, time
begun = float(sys.argv.pop(1))
marks = [time.time() - begun]

def mark(value=None):
    marks.append(time.time() - begun)
    return value

from stemwall.cases.cli import commands as cli
mark()
chosen, build_all = cli.chosen, cli.build_all

def built(*arguments):
    setups = mark(build_all(*arguments))
    from stemwall.solver import simulate
    from stemwall.solver.integration import integrator
    mark()
    prepare, advance = simulate.prepare, integrator.TimeIntegrator.advance_to

    def first(march, seconds):
        mark()
        processor = time.process_time()
        advance(march, seconds)
        mark()
        import json, os
        print("MARKS", json.dumps([*marks, processor]), flush=True)
        os._exit(0)

    simulate.prepare = lambda *a, **k: mark(prepare(*a, **k))
    integrator.TimeIntegrator.advance_to = first
    return setups

cli.chosen = lambda *arguments: mark(chosen(*arguments))
cli.build_all = built
cli.main()
"""


def measure(case: Path | None, folder: Path) -> tuple[list[float], float]:
    """Seconds from the command to the end of each stage, and processor seconds until marching.

    Parameters
    ----------
    case : Path or None
        Case file, None for the default case.
    folder : Path
        Where the result would go.
    """
    arguments = ["run", *([str(case)] if case else []), "--variant", "base", "--out", str(folder)]
    command = [sys.executable, "-c", CHILD, repr(time.time()), *arguments]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    line = next((line for line in done.stdout.splitlines() if line.startswith("MARKS")), None)
    if line is None:
        raise SystemExit(f"the run did not reach its first hour:\n{done.stdout}{done.stderr}")
    *marks, processor = json.loads(line.removeprefix("MARKS"))
    return marks, processor


def starters(folder: Path) -> list[Path]:
    """A starter case of every detail."""
    from stemwall.cases.case_file.starter import SHORT_NAMES, starter

    paths = []
    for name in DETAILS:
        path = folder / f"{name}.toml"
        path.write_text(starter(SHORT_NAMES[name]), encoding="utf-8")
        paths.append(path)
    return paths


def shown(name: str, marks: list[float], processor: float) -> str:
    """One row: the length of each stage, the total, and the processor's share."""
    stages = [end - start for start, end in zip([0.0, *marks], marks, strict=False)]
    cells = "".join(f"{seconds:11.3f}" for seconds in stages)
    return f"{name:22s}{cells}{marks[-2]:11.3f}{marks[-1]:12.3f}{processor:11.3f}"


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("cases", nargs="*", type=Path)
    parser.add_argument("--repeats", type=int, default=5)
    options = parser.parse_args()
    heading = "".join(f"{stage:>11s}" for stage in STAGES) + "   to march  first hour  processor"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ["STEMWALL_CACHE_DIR"] = str(folder / "kept")
        # as where it is installed: modules are read once and kept, whatever this machine says
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        os.environ["PYTHONPYCACHEPREFIX"] = str(folder / "modules")
        print(f"{'seconds':22s}{heading}")
        marks, processor = measure(None, folder)
        print(shown("cold, default case", marks, processor))
        print(f"cold: {marks[-1]:.1f} s to the first hour, limit {COLD_LIMIT:.0f} s")
        worst = 0.0
        for case in options.cases or [None, *starters(folder)]:
            measure(case, folder)
            taken = sorted((measure(case, folder) for _ in range(options.repeats)), key=lambda one: one[0][-1])
            title = case.stem if case else "default case"
            print(shown(f"{title}, fastest", *taken[0]))
            middle = statistics.median(marks[-2] for marks, _ in taken)
            print(f"{title}: marching after {middle:.3f} s (median of {len(taken)})")
            worst = max(worst, middle)
        print(f"second run: marching after {worst:.3f} s at most, limit {WARM_LIMIT:.0f} s")


if __name__ == "__main__":
    main()
