"""The judge's recorded answers: one compressed file of plain arrays per pair kind."""

from __future__ import annotations

import io
import os
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from shapes.pose import Pose
from shapes.primitives import Primitive

from .occt import FAULTS, JUDGES, Verdict
from .pairs import RECIPES, SEED, Pair
from .whole_numbers import first_pose, primitive_of, second_pose

DATA = Path(__file__).parent.parent / "data" / "judge"


@dataclass(frozen=True, slots=True)
class Recorded:
    """Judged pairs of one kind, row by row; names of columns are those of ``Pair`` and ``Verdict``."""

    kinds: tuple[str, str]
    occt_version: str
    columns: dict[str, npt.NDArray[np.generic]]

    def __len__(self) -> int:
        return len(self.columns["sign"])

    def bodies(self, row: int) -> tuple[tuple[Primitive, Pose], tuple[Primitive, Pose]]:
        """Both primitives of a row with their poses."""
        first = primitive_of(self.kinds[0], self.columns["first"][row])
        second = primitive_of(self.kinds[1], self.columns["second"][row])
        return (first, first_pose(self.columns["place"][row])), (
            second,
            second_pose(self.columns["pose"][row]),
        )

    def verdict(self, row: int) -> Verdict:
        """What the judge said of a row."""
        column = {name: values[row] for name, values in self.columns.items()}
        return Verdict(
            int(column["sign"]),
            float(column["distance_mm"]),
            JUDGES[int(column["judged_by"])],
            FAULTS[int(column["fault"])],
            float(column["occt_mm"]),
        )

    def recipe(self, row: int) -> str:
        """The recipe a row's pair was made by."""
        return RECIPES[int(self.columns["recipe"][row])]


def path_of(kinds: tuple[str, str]) -> Path:
    """Where the answers of a pair kind are kept."""
    return DATA / f"{kinds[0]}-{kinds[1]}.npz"


def as_columns(pairs: list[Pair], verdicts: list[Verdict]) -> dict[str, npt.NDArray[np.generic]]:
    """Pairs and their verdicts as arrays of the narrowest type that loses nothing.

    ``occt_mm`` is kept only where OCCT was set aside; elsewhere it is 0.
    """
    return {
        "first": np.array([pair.numbers[0] for pair in pairs], dtype=np.int32),
        "second": np.array([pair.numbers[1] for pair in pairs], dtype=np.int32),
        "place": np.array([pair.place for pair in pairs], dtype=np.int32),
        "pose": np.array([pair.second for pair in pairs], dtype=np.float64),
        "recipe": np.array([RECIPES.index(pair.recipe) for pair in pairs], dtype=np.uint8),
        "sign": np.array([verdict.sign for verdict in verdicts], dtype=np.int8),
        "distance_mm": np.array([verdict.distance_mm for verdict in verdicts], dtype=np.float64),
        "judged_by": np.array([JUDGES.index(verdict.judged_by) for verdict in verdicts], dtype=np.uint8),
        "fault": np.array([FAULTS.index(verdict.fault) for verdict in verdicts], dtype=np.uint8),
        "occt_mm": np.array([v.occt_mm if v.fault != "none" else 0.0 for v in verdicts], dtype=np.float64),
    }


def save(kinds: tuple[str, str], occt_version: str, columns: dict[str, npt.NDArray[np.generic]]) -> None:
    """Write a kind's answers, whole or not at all."""
    path = path_of(kinds)
    path.parent.mkdir(parents=True, exist_ok=True)
    buffer = io.BytesIO()
    np.savez_compressed(buffer, occt_version=occt_version, seed=SEED, **columns)
    partial = path.with_suffix(".part")
    partial.write_bytes(buffer.getvalue())
    os.replace(partial, path)


def load(kinds: tuple[str, str]) -> Recorded:
    """The recorded answers of a pair kind; FileNotFoundError before the first recording."""
    with np.load(path_of(kinds)) as kept:
        columns = {name: kept[name] for name in kept.files if name not in ("occt_version", "seed")}
        return Recorded(kinds, str(kept["occt_version"]), columns)
