"""What happens in between: section, mesh, balances, marching, results and their assessment.

Imports ``stemwall.materials`` and ``stemwall.weather``; never ``stemwall.cases``.

Compiled kernels are kept in a folder named after what the kernel files say: numba looks at the file of a
function only, and would go on using what it compiled when a function that this one calls, or a constant in another
file, has changed.
"""

import hashlib
import os
import sys
import tempfile
from pathlib import Path

from stemwall.weather.kept import cache_folder

#: begins the names of folders of compiled kernels
COMPILED = "kernels-"


def _keep_compiled() -> None:
    """Let numba keep compiled code in a folder of these sources, inside the one it was told or the user's own."""
    here = Path(__file__).parent
    digest = hashlib.sha256()
    others = (here / f"{name}.py" for name in ("compiled", "lanes", "layout", "scheme"))
    for path in sorted([*here.glob("*_kernels.py"), *others]):
        digest.update(path.read_bytes())
    told = Path(os.environ.get("NUMBA_CACHE_DIR") or cache_folder() or tempfile.gettempdir())
    # a process that another began has been told already
    folder = (told.parent if told.name.startswith(COMPILED) else told) / f"{COMPILED}{digest.hexdigest()[:16]}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return  # numba finds a place of its own
    os.environ["NUMBA_CACHE_DIR"] = str(folder)
    if "numba" in sys.modules:
        sys.modules["numba"].config.CACHE_DIR = str(folder)


_keep_compiled()
