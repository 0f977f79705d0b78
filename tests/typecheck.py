"""Type check: link the rooms into one package tree and run mypy on it.

An editable install maps names with an import hook that mypy cannot follow.
Run as `python tests/typecheck.py`; the exit code is mypy's.
"""

import os
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def main() -> int:
    """Run mypy on all packages of pyproject.toml."""
    packages = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["packages"]
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder, "stemwall")
        tree.mkdir()
        rooms = [package.split(".")[1] for package in packages if package.count(".") == 1]
        for room in rooms:
            (tree / room).symlink_to(ROOT / room, target_is_directory=True)
        command = [sys.executable, "-m", "mypy", "--config-file", str(ROOT / "pyproject.toml")]
        command += [argument for room in rooms for argument in ("-p", f"stemwall.{room}")]
        return subprocess.run(command, cwd=folder, env={**os.environ, "MYPYPATH": folder}, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
