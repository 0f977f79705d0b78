"""Lanes: four numbers, of eight bytes or of four, that compiled kernels treat as one.

The compiler does several numbers at once where it sees that a loop may; in a sweep that reads what it has just written
it does not see it.  Kernels that know better say so: `load` and `turned` make lanes, +, -, * and / work on
them, `store` puts them back.  Only compiled code can use them.
"""

from __future__ import annotations

import operator
from typing import Any

from llvmlite import ir
from numba import types
from numba.core.cgutils import get_or_insert_function
from numba.core.datamodel import models
from numba.core.typing.templates import ConcreteTemplate, infer_global, signature
from numba.extending import intrinsic, lower_builtin, register_model

#: numbers in a lane
WIDTH = 4
_PLACE = ir.IntType(32)


class _Lanes(types.Type):  # type: ignore[misc]
    """Lanes of numbers of eight bytes, or of four."""

    def __init__(self, number: Any, written: Any) -> None:
        self.number, self.vector = number, ir.VectorType(written, WIDTH)
        super().__init__(name=f"lanes{WIDTH}{number}")


lanes = _Lanes(types.float64, ir.DoubleType())
short_lanes = _Lanes(types.float32, ir.FloatType())
_KINDS = {kind.number: kind for kind in (lanes, short_lanes)}


@register_model(_Lanes)
class _Model(models.PrimitiveModel):  # type: ignore[misc]
    def __init__(self, manager: Any, kind: Any) -> None:
        super().__init__(manager, kind, kind.vector)


def _operate(operation: Any, instruction: str) -> None:
    """Let an operator work on lanes, products and sums joined where the processor can."""

    @infer_global(operation)
    class _Signature(ConcreteTemplate):  # type: ignore[misc]
        cases = tuple(signature(kind, kind, kind) for kind in _KINDS.values())

    for kind in _KINDS.values():

        @lower_builtin(operation, kind, kind)
        def _lower(context: Any, builder: Any, sig: Any, args: Any) -> Any:
            return getattr(builder, instruction)(*args, flags=("contract",))


for _operation, _instruction in (
    (operator.add, "fadd"), (operator.iadd, "fadd"), (operator.sub, "fsub"), (operator.isub, "fsub"),
    (operator.mul, "fmul"), (operator.truediv, "fdiv"),
):  # fmt: skip
    _operate(_operation, _instruction)


def _pointer(context: Any, builder: Any, kind: Any, array: Any, place: Any) -> Any:
    return builder.gep(context.make_array(kind)(context, builder, array).data, [place])


def _align(kind: Any) -> int:
    return int(kind.number.bitwidth) // 8


@intrinsic
def load(typing: Any, array: Any, place: Any) -> Any:
    """Lanes from consecutive numbers of an array, from ``place`` on."""
    kind = _KINDS[array.dtype]

    def generate(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        pointer = _pointer(context, builder, sig.args[0], *args)
        return builder.load(builder.bitcast(pointer, kind.vector.as_pointer()), align=_align(kind))

    return kind(array, types.uint64), generate


@intrinsic
def store(typing: Any, array: Any, place: Any, value: Any) -> Any:
    """Put lanes into an array, from ``place`` on; rounded if its numbers are the shorter."""
    kind = _KINDS[array.dtype]

    def generate(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        pointer = _pointer(context, builder, sig.args[0], *args[:2])
        put = args[2] if kind == value else builder.fptrunc(args[2], kind.vector)
        builder.store(put, builder.bitcast(pointer, kind.vector.as_pointer()), align=_align(kind))
        return context.get_dummy_value()

    return types.void(array, types.uint64, value), generate


@intrinsic
def to_f64(typing: Any, value: Any) -> Any:
    """The same lanes, of numbers of eight bytes."""

    def generate(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        return args[0] if value == lanes else builder.fpext(args[0], lanes.vector)

    return lanes(value), generate


@intrinsic
def transpose4(typing: Any, array: Any, a: Any, b: Any, c: Any, d: Any) -> Any:
    """Four numbers from each of four places of an array: first lanes of the first of all, then of the second ..."""

    def generate(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        def pairs(one: Any, other: Any, places: tuple[int, ...]) -> Any:
            return builder.shuffle_vector(one, other, ir.Constant(ir.VectorType(_PLACE, WIDTH), list(places)))

        rows = []
        for place in args[1:]:
            pointer = _pointer(context, builder, sig.args[0], args[0], place)
            rows.append(builder.load(builder.bitcast(pointer, lanes.vector.as_pointer()), align=8))
        low, high = (0, 4, 2, 6), (1, 5, 3, 7)
        mixed = [pairs(rows[k], rows[k + 1], places) for k in (0, 2) for places in (low, high)]
        first, last = (0, 1, 4, 5), (2, 3, 6, 7)
        columns = [pairs(mixed[k], mixed[k + 2], places) for places in (first, last) for k in (0, 1)]
        return context.make_tuple(builder, sig.return_type, columns)

    return types.UniTuple(lanes, WIDTH)(array, *(types.uint64,) * WIDTH), generate


@intrinsic
def broadcast(typing: Any, array: Any, number: Any) -> Any:
    """Lanes, of the kind that an array has, that are all the same number."""
    kind = _KINDS[array.dtype]

    def generate(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        number = args[1] if kind == lanes else builder.fptrunc(args[1], kind.vector.element)
        value = ir.Constant(kind.vector, ir.Undefined)
        for place in range(WIDTH):
            value = builder.insert_element(value, number, ir.Constant(_PLACE, place))
        return value

    return kind(array, types.float64), generate


@intrinsic
def hsum(typing: Any, value: Any) -> Any:
    """Sum of lanes of numbers of eight bytes."""

    def generate(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        ends = [builder.extract_element(args[0], ir.Constant(_PLACE, place)) for place in range(WIDTH)]
        return builder.fadd(builder.fadd(ends[0], ends[1]), builder.fadd(ends[2], ends[3]))

    return types.float64(lanes), generate


@intrinsic
def hmax(typing: Any, value: Any) -> Any:
    """Largest of the lanes."""

    def generate(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        found = builder.extract_element(args[0], ir.Constant(_PLACE, 0))
        for place in range(1, WIDTH):
            one = builder.extract_element(args[0], ir.Constant(_PLACE, place))
            found = builder.select(builder.fcmp_ordered(">", one, found), one, found)
        return found if value == lanes else builder.fpext(found, ir.DoubleType())

    return types.float64(value), generate


@intrinsic
def max_abs(typing: Any, value: Any, other: Any) -> Any:
    """The size of ``other`` where it is larger than ``value``, elsewhere ``value``."""

    def generate(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        kind = ir.FunctionType(value.vector, [value.vector])
        name = f"llvm.fabs.v{WIDTH}f{value.number.bitwidth}"
        size = builder.call(get_or_insert_function(builder.module, kind, name), [args[1]])
        return builder.select(builder.fcmp_ordered(">", size, args[0]), size, args[0])

    return value(value, other), generate
