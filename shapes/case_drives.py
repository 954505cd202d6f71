"""Places for drives in a case: shelves drilled for both sizes, alone or in a cage."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType

from shapes.drive_holes import DRIVE_HOLES_ALONG_MM, DRIVE_SIZE_MM, drive_holes
from shapes.part import Mount, Solid
from shapes.pose import DIRECTIONS, Pose, Vec3
from shapes.solids import sheet

#: A cage's outside: along its drives' width and their length (common practice, no source).
CAGE_MM = (115.0, 155.0)
#: Shelf to shelf: a 26.1 mm drive (SFF-8301) with room for its cables.
BAY_MM = 37.0
CAGE_SHEET_MM = 1.0


def cage_height(bays: int) -> float:
    """Height over all of a cage [mm]."""
    return bays * BAY_MM + CAGE_SHEET_MM


def drive_cage(low: Vec3, bays: int) -> tuple[tuple[Solid, ...], dict[str, Mount]]:
    """A cage with its lower corner at ``low``, and its mounts ``drive_1`` and so on from below.

    The drives lie across the case, their plugs to the tray; each mount faces the roof, its ``slide``
    runs to the window. The cage is open to window and tray.
    """
    (x0, y0, z0), t = low, CAGE_SHEET_MM
    x1, y1, z1 = x0 + CAGE_MM[0], y0 + CAGE_MM[1], z0 + cage_height(bays)
    solids = [
        sheet("cage_rear", (x0, y0, z0), (x0 + t, y1, z1), look="metal"),
        sheet("cage_front", (x1 - t, y0, z0), (x1, y1, z1), look="metal"),
    ]
    mounts = {}
    for bay in range(bays):
        z = z0 + bay * BAY_MM
        shelf = (x0 + t, y0, z), (x1 - t, y1, z + t)
        place = _middle_of_holes((x0 + x1) / 2.0, (y0 + y1) / 2.0, z + t)
        mounts[f"drive_{bay + 1}"] = place
        solids.append(drive_shelf(f"cage_shelf_{bay + 1}", *shelf, place))
    return tuple(solids), mounts


def drive_shelf(name: str, low: Vec3, high: Vec3, *places: Mount) -> Solid:
    """A sheet drilled for these drive places."""
    return sheet(name, low, high, screws=list(_drilled(places)), look="metal")


def _drilled(places: tuple[Mount, ...]) -> Iterator[tuple[Pose, tuple]]:  # type: ignore[type-arg]
    for place in places:
        for holes in place.rows.values():
            yield place.mount2part, holes


def _middle_of_holes(x: float, y: float, z: float) -> Mount:
    """A place for a drive about (x, y): a 3.5 in one stands in the middle, its plugs to the tray."""
    length = DRIVE_SIZE_MM["3.5"][0]
    beside = length / 2.0 - sum(DRIVE_HOLES_ALONG_MM["3.5"]) / 2.0
    return drive_place((x, y + beside, z), "roof", "window")


def drive_place(at: Vec3, facing: str, along: str) -> Mount:
    """A mount of kind "drive" drilled for both sizes.

    at : middle of the bottom holes on the sheet; along : its x, the way from a drive's plugs to its
    other end, and the way ``slide`` runs
    """
    pose = Pose.facing(at, DIRECTIONS[facing], DIRECTIONS[along])
    return Mount(pose, "drive", MappingProxyType({size: drive_holes(size) for size in DRIVE_SIZE_MM}))
