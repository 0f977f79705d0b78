"""A membrane from its cups: equivalent air-layer thickness, dry and wet."""

from __future__ import annotations

from typing import Any

import numpy as np

from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.laboratory.assumptions import Assumption
from stemwall.cases.laboratory.evaluation import Evaluation
from stemwall.cases.laboratory.read_sheet import SheetFile
from stemwall.cases.laboratory.sheet import MembraneTest
from stemwall.cases.laboratory.vapour_fit import CupResult, cup_result, fit_vapour
from stemwall.materials.definition import membrane_from_spec, parse
from stemwall.materials.schema import MembraneSpec
from stemwall.materials.water import AIR_PERMEABILITY

#: sets of the spread
SETS = 20


def evaluate_membrane(file: SheetFile) -> Evaluation:
    """Evaluate the sheet of a membrane.

    Raises
    ------
    CaseError
        With every cup that cannot be used.
    """
    sheet, about = file.sheet, file.sheet.about
    results: list[CupResult] = []
    problems = []
    for number, cup in enumerate(sheet.cup):
        thickness = cup.thickness or (sheet.membrane.thickness if sheet.membrane else None)
        try:
            result = cup_result(cup.model_copy(update={"thickness": thickness}))
            if result.sd is None:
                raise ValueError("a thickness, to bring mu to the membrane")
            results.append(CupResult(result.low, result.high, result.temperature, result.sd, None, result.taken_off))
        except ValueError as error:
            problems.append(file.problem(("cup", number), "this cup", str(error)))
    if problems:
        raise CaseError(problems)
    rng = np.random.default_rng(about.seed)
    fit = fit_vapour(results, about.scatter, rng, about.draws, porous=False)
    assumed = []
    if not fit.scatter.freedom:
        assumed.append(
            Assumption("scatter of cups, of which each is one value", f"{about.scatter:.0%}", "sheet.scatter")
        )
    if len(results) == 1:
        assumed.append(Assumption("the other cup", "as the one tested", "one cup was tested"))
    kind = sheet.membrane
    if kind is None:
        kind = MembraneTest()
        assumed.append(Assumption("liquid water", "does not pass", "no table [membrane]"))
    remarks = (
        ["Cups as stated let less through where it is moister; the fit takes them for equal."] if fit.falls else []
    )
    if len(results) > 2:
        remarks.append("A membrane has a dry and a wet value: the driest and the moistest cup are taken.")
    source = ", ".join(filter(None, (about.laboratory, file.path.name)))
    dry = AIR_PERMEABILITY / fit.draws[:, 0]
    low, high = np.quantile(dry, [0.05, 0.95])

    def pair(deltas: np.ndarray[Any, Any]) -> dict[str, float]:
        thick, thin = (float(f"{AIR_PERMEABILITY / delta:.5g}") for delta in (deltas[0], deltas[-1]))
        return {"dry": thick, "wet": min(thin, thick)}

    table: dict[str, Any] = {
        "name": about.name,
        "group": "tested",
        "sd": {
            **pair(fit.best), "source": source, "confidence": "measured", "low": float(f"{low:.4g}"),
            "high": float(f"{high:.4g}"),
        },
        "liquid": kind.liquid,
    }  # fmt: skip
    if kind.thickness is not None:
        table["thickness"] = kind.thickness
    if about.mould_class is not None:
        table["mould_class"] = {"value": about.mould_class, "confidence": "estimate"}
    ranks = np.argsort(dry)
    picked = [ranks[(2 * part + 1) * ranks.size // (2 * SETS)] for part in range(SETS)]
    product = membrane_from_spec(about.id, parse(MembraneSpec, about.id, table))
    return Evaluation(
        sheet, file.path.name, table, [{"sd": pair(fit.draws[number])} for number in picked], product, {}, vapour=fit,
        ordered_by="s_d of the dry cup", assumed=tuple(assumed), doubts=tuple(file.doubts), remarks=tuple(remarks),
    )  # fmt: skip
