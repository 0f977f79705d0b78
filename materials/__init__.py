"""What things are made of: material models, the catalogue and tables for kernels.

Start with `catalogue()["concrete_wc050"]` or `material_from_mapping`, and turn materials into
arrays with `tabulate`. The folder imports nothing of the other rooms.
"""

from stemwall.materials.catalogue import Catalogue, Source, catalogue, material_from_mapping
from stemwall.materials.check import check
from stemwall.materials.material import Frost, Material, MembraneProduct, Provenance, Surface
from stemwall.materials.problems import Finding, MaterialError, Problem, UnknownMaterialError
from stemwall.materials.tables import (
    SUCTION_SCALE,
    MaterialTables,
    evaluate,
    stretched,
    suction,
    suction_slope,
    tabulate,
)

__all__ = [
    "SUCTION_SCALE",
    "Catalogue",
    "Finding",
    "Frost",
    "Material",
    "MaterialError",
    "MaterialTables",
    "MembraneProduct",
    "Problem",
    "Provenance",
    "Source",
    "Surface",
    "UnknownMaterialError",
    "catalogue",
    "check",
    "evaluate",
    "material_from_mapping",
    "stretched",
    "suction",
    "suction_slope",
    "tabulate",
]
