"""What is kept of compiled kernels: those that Python calls, not what they are made of; none that is damaged."""

from __future__ import annotations

import hashlib
import inspect
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

import numba
import pytest
from numba.core import base, codegen, compiler, cpu, dispatcher

from stemwall.solver.kernels.support import jit

KERNELS = """
from stemwall.solver.kernels.support.jit import kernel

@kernel
def inner(a, b):
    return a * b + 1.0

@kernel
def outer(a, b):
    return inner(a, b) + inner(b, a)
"""


def kept_files(folder: Path) -> dict[str, Path]:
    """Kept code by the name of its function."""
    return {path.name.rsplit("-", 1)[0]: path for path in (folder / "kept").glob("kernels-*/*")}


def process(folder: Path, what: str) -> subprocess.Popen[str]:
    """A process that prints a call of kernels, and how often each was loaded."""
    code = (
        f"from kernels import inner, outer\nprint({what}, dict(outer.stats.cache_hits), dict(inner.stats.cache_hits))"
    )
    environment = {"STEMWALL_CACHE_DIR": str(folder / "kept"), "PYTHONPATH": str(folder)}
    return subprocess.Popen(
        [sys.executable, "-c", code], stdout=-1, stderr=-1, text=True, cwd=folder, env={**os.environ, **environment}
    )


def called(folder: Path, what: str) -> tuple[str, list[str]]:
    """What a call prints in a process of its own, all of it, and the kernels that are kept afterwards."""
    running = process(folder, what)
    printed, said = running.communicate()
    assert running.returncode == 0, said
    return (printed + said).strip(), sorted(kept_files(folder))


def test_a_kernel_is_kept_with_its_parts_and_these_for_themselves_once_python_calls_them(tmp_path: Path) -> None:
    (tmp_path / "kernels.py").write_text(KERNELS)
    first, kept = called(tmp_path, "outer(2.0, 3.0)")
    assert first.startswith("14.0 ")
    assert kept == ["outer"]
    again, kept = called(tmp_path, "outer(2.0, 3.0), inner(2.0, 3.0)")
    assert again.startswith("14.0 7.0 {(float64, float64): 1}")
    assert kept == ["inner", "outer"]
    last, _ = called(tmp_path, "outer(2.0, 3.0), inner(2.0, 3.0)")
    assert last.count("(float64, float64): 1") == 2


def test_python_can_call_what_was_compiled_as_a_part(tmp_path: Path) -> None:
    (tmp_path / "kernels.py").write_text(KERNELS)
    printed, kept = called(tmp_path, "outer(2.0, 3.0), inner(2.0, 3.0), outer(2.0, 3.0), inner(1.0, 3.0)")
    assert printed.startswith("14.0 7.0 14.0 4.0 {} {}")
    assert kept == ["inner", "outer"]
    # and what others were compiled with before
    printed, _ = called(tmp_path, "inner(2, 3), outer(2, 3), inner(2, 3), inner(2.0, 3.0)")
    assert printed.startswith("7.0 14.0 7.0 7.0 ")


def test_what_python_called_before_can_be_a_part_of_others_later(tmp_path: Path) -> None:
    (tmp_path / "kernels.py").write_text(KERNELS)
    printed, kept = called(tmp_path, "inner(2.0, 3.0)")
    assert printed.startswith("7.0 ")
    assert kept == ["inner"]
    printed, kept = called(tmp_path, "outer(2.0, 3.0), inner(2.0, 3.0)")
    assert printed.startswith("14.0 7.0 ")
    assert kept == ["inner", "outer"]


LOADED = "14.0 {(float64, float64): 1} {}"
COMPILED = "14.0 {} {}"


def test_damaged_code_is_compiled_again(tmp_path: Path) -> None:
    (tmp_path / "kernels.py").write_text(KERNELS)
    called(tmp_path, "outer(2.0, 3.0)")
    path = kept_files(tmp_path)["outer"]
    whole = path.read_bytes()
    flipped = bytearray(whole)
    flipped[len(whole) // 2] ^= 4
    for content in (bytes(flipped), whole[:-1], b""):
        path.write_bytes(content)
        assert called(tmp_path, "outer(2.0, 3.0)") == (COMPILED, ["outer"])
    assert called(tmp_path, "outer(2.0, 3.0)") == (LOADED, ["outer"])


def test_whole_code_of_another_function_is_compiled_again(tmp_path: Path) -> None:
    """Checksums hold, but it is not what was asked for."""
    from stemwall.weather.sealed import read_sealed, write_sealed

    (tmp_path / "kernels.py").write_text(KERNELS)
    called(tmp_path, "outer(2.0, 3.0), inner(2.0, 3.0)")
    files = kept_files(tmp_path)
    other = read_sealed(files["inner"])
    for content in (other, b"no pickle"):
        assert content is not None
        write_sealed(files["outer"], content)
        assert called(tmp_path, "outer(2.0, 3.0)")[0] == COMPILED


def test_processes_that_keep_the_same_code_do_not_meet(tmp_path: Path) -> None:
    (tmp_path / "kernels.py").write_text(KERNELS)
    running = [process(tmp_path, "outer(2.0, 3.0)") for _ in range(3)]
    for one in running:
        printed, said = one.communicate()
        assert printed.strip() in (COMPILED, LOADED)
        assert said == ""
    assert called(tmp_path, "outer(2.0, 3.0)") == (LOADED, ["outer"])
    assert [path.suffix for path in kept_files(tmp_path).values()] == [".kept"]


@pytest.mark.skipif(os.name != "posix", reason="permissions")
def test_without_a_place_to_keep_it_code_is_compiled_and_that_is_said(tmp_path: Path) -> None:
    (tmp_path / "kernels.py").write_text(KERNELS)
    (tmp_path / "kept").mkdir(mode=0o777)
    (tmp_path / "kept").chmod(0o777)
    printed, kept = called(tmp_path, "outer(2.0, 3.0)")
    result, said = printed.splitlines()
    assert result == COMPILED
    assert said.endswith("others may write to it")
    assert kept == []


def test_the_folder_is_named_after_all_kernel_files_and_what_they_share(monkeypatch: pytest.MonkeyPatch) -> None:
    folder = jit.kernel_folder()
    assert folder is not None
    assert folder.name == jit.COMPILED + jit._kernels_hash()[:16]
    if os.name == "posix":
        assert folder.stat().st_mode & 0o777 == 0o700
    read: list[str] = []
    inner = Path.read_bytes
    monkeypatch.setattr(Path, "read_bytes", lambda path: read.append(path.name) or inner(path))  # type: ignore[func-returns-value]
    jit._kernels_hash.__wrapped__()
    assert read == [path.name for path in sorted(Path(jit.__file__).parents[1].rglob("*.py"))]


def test_code_of_another_version_is_not_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from stemwall.solver.assessment.decay import _march

    kept, codegen = _march._cache, _march.targetctx.codegen()
    before = kept._path(tmp_path, kept._key((), codegen))
    assert before == kept._path(tmp_path, kept._key((), codegen))
    monkeypatch.setattr(jit, "_VERSIONS", ("another",))
    assert kept._path(tmp_path, kept._key((), codegen)) != before


def test_functions_of_series_are_kept_and_found_again(tmp_path: Path) -> None:
    code = """
import numpy as np
from stemwall.solver.assessment import decay, mould, wetness
t, rh = np.full((50, 2), 20.0), np.full((50, 2), 0.98)
t[10:20] = -5.0
index = mould.mould_index(t, rh, "VS")
print(index.max(), decay.decay(t, rh).activation.max(), wetness.frost_cycles(t))
print(*(len(f.stats.cache_hits) for f in (mould._march, mould._grown, decay._march, wetness._count_cycles)))
"""
    printed = []
    for _ in range(2):
        environment = {**os.environ, "STEMWALL_CACHE_DIR": str(tmp_path / "kept")}
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=True)
        printed.append(done.stdout.splitlines())
    assert printed[0][0] == printed[1][0]
    assert (printed[0][1], printed[1][1]) == ("0 0 0 0", "1 0 1 1")


#: methods of numba that `jit` replaces or calls, and their parameters in every version that pyproject.toml allows
PARAMETERS = {
    codegen.CPUCodegen.create_library: "self, name, **kwargs",
    codegen.CPUCodegen.magic_tuple: "self",
    codegen.JITCodeLibrary._optimize_final_module: "self",
    base.BaseContext.refresh: "self",
    compiler.CompileResult._reduce: "self",
}
#: methods that `jit` repeats in part, or whose order it relies on, by the digest of their source: if one differs, read
#: it, see whether `jit` still fits, and put its digest here
SOURCES = {
    codegen.JITCodeLibrary._finalize_final_module: "34037c725afc",
    dispatcher.Dispatcher.compile: "17fc164d8184",
    dispatcher.Dispatcher.add_overload: "1a2950d10b12",
    compiler.CompileResult._rebuild: "7578cea06381",
    cpu.CPUContext.get_executable: "2cd3f82f88da",
}
LIBRARIES = """
import numpy as np
from numba import njit
from numba.core.codegen import JITCodeLibrary
from stemwall.solver.kernels.support.jit import kernel, _Part

@kernel
def inner(a):
    b = a[1:]
    return b[0] + 1.0

@kernel
def outer(a):
    return inner(a) + inner(a[1:])

optimised, translated = [], []
optimise, translate = JITCodeLibrary._optimize_final_module, JITCodeLibrary._finalize_final_module
JITCodeLibrary._optimize_final_module = lambda library: (optimised.append(library.name), optimise(library))
JITCodeLibrary._finalize_final_module = lambda library: (translated.append(library.name), translate(library))
print(outer(np.arange(4.0)))
(of_inner,), (of_outer,) = inner.overloads.values(), outer.overloads.values()
print(isinstance(of_inner.library, _Part), isinstance(of_outer.library, _Part))
print(*([name for name in names if name in ("inner", "outer")] for names in (optimised, translated)))
counting = njit(inner.py_func)
counting(np.arange(4.0))
print(*("NRT_" in text for found in (outer, counting) for text in found.inspect_llvm().values()))
"""


def test_numba_has_bounds_and_the_installed_version_is_within() -> None:
    project = tomllib.loads((Path(__file__).parents[4] / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    (stated,) = (text for text in project["dependencies"] if text.startswith("numba"))
    bounds = re.fullmatch(r"numba>=(\d+)\.(\d+),<(\d+)\.(\d+)", stated)
    assert bounds, f"{stated}: `jit` replaces private methods, so both bounds are needed"
    least, beyond = (int(bounds[1]), int(bounds[2])), (int(bounds[3]), int(bounds[4]))
    found = tuple(int(number) for number in numba.__version__.split(".")[:2])
    assert least <= found < beyond


@pytest.mark.parametrize("method", PARAMETERS, ids=lambda method: method.__qualname__)
def test_what_is_replaced_in_numba_takes_the_same_arguments(method: Callable[..., object]) -> None:
    assert ", ".join(str(one) for one in inspect.signature(method).parameters.values()) == PARAMETERS[method]


@pytest.mark.parametrize("method", SOURCES, ids=lambda method: method.__qualname__)
def test_what_is_repeated_or_relied_on_in_numba_reads_as_before(method: Callable[..., object]) -> None:
    source = " ".join(inspect.getsource(method).split())
    assert hashlib.sha256(source.encode()).hexdigest()[:12] == SOURCES[method]


def test_a_callee_is_neither_optimised_nor_translated_on_its_own_and_nothing_is_counted(tmp_path: Path) -> None:
    path = tmp_path / "libraries.py"
    path.write_text(LIBRARIES)
    environment = {**os.environ, "STEMWALL_CACHE_DIR": str(tmp_path / "kept")}
    done = subprocess.run([sys.executable, path], capture_output=True, text=True, env=environment, check=False)
    assert done.stderr == ""
    value, as_callee, libraries, counted = done.stdout.splitlines()
    assert value == "5.0"
    assert as_callee == "True False"
    assert libraries == "['outer'] ['outer']"
    assert counted == "False True"
