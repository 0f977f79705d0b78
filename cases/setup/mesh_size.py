"""How large a mesh would be, before it is made: refused above a stated number of cells, with the key to blame."""

from __future__ import annotations

from stemwall.cases.case_file.case import Mesh
from stemwall.solver.discretisation.mesh import cell_counts
from stemwall.solver.model.section import Section
from stemwall.solver.model.settings import MeshRule

#: cells of the rectangle, openings included; the default case has 7,000, six times as fine 220,000
MOST_CELLS = 1_000_000
#: memory of a run [bytes], and of each cell of the rectangle; measured on the default case, two to six times as fine,
#: without direct solutions
BYTES, BYTES_PER_CELL = 0.15e9, 1_500


def too_large(section: Section, mesh: Mesh) -> tuple[str, str, str] | None:
    """Return (key of [mesh], found, expected) of a mesh with too many cells, None if it is small enough.

    The key is the one whose default would save most.
    """
    columns, rows = cell_counts(section, MeshRule(**mesh.model_dump()))
    if columns * rows <= MOST_CELLS:
        return None
    ordinary = Mesh()
    sizes = {}
    for key in Mesh.model_fields:
        other = mesh.model_copy(update={key: getattr(ordinary, key)})
        across, up = cell_counts(section, MeshRule(**other.model_dump()))
        sizes[key] = across * up
    key = min(sizes, key=sizes.__getitem__)
    memory = (BYTES + columns * rows * BYTES_PER_CELL) / 1e9
    found = f"{getattr(mesh, key):g}, which makes {columns:,} x {rows:,} cells, at least {memory:,.1f} GB of memory"
    hint = f"the default {getattr(ordinary, key):g} makes {sizes[key]:,}"
    if sizes[key] >= columns * rows:
        hint = "fewer or larger parts, or coarser cells"
    return key, found, f"at most {MOST_CELLS:,} cells; {hint}"
