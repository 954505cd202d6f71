"""What several families share: fan hole patterns and threaded ports.

Sources
-------
Fan hole spacings: the table most fan data sheets agree on; common practice, no standard governs
them. 180 mm fans differ from maker to maker (153 to 165 mm), so there the spacing is a default to
be measured. G threads: major diameters of ISO 228-1. Port depth: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import BeforeValidator

from shapes.part import Bore, Hole, Look, Mount, Part, Port, Solid
from shapes.pose import DIRECTIONS, Pose, Vec3
from shapes.primitives import Opening, Plate, RoundOpening

#: Fan frame [mm] -> spacing of its corner holes [mm].
FAN_HOLE_SPACING_MM = MappingProxyType(
    {80: 71.5, 92: 82.5, 120: 105.0, 140: 124.5, 180: 165.0, 200: 154.0, 220: 170.0}
)
#: Corner hole of fan frames of 70 mm and more [mm].
FAN_HOLE_MM = 4.3

#: Parallel pipe thread -> major diameter [mm], ISO 228-1.
G_THREAD_MAJOR_MM = MappingProxyType({"G1/8": 9.728, "G1/4": 13.157, "G3/8": 16.662, "G1/2": 20.955})
#: Thread of a loop part's port, usually 5 to 8 mm deep.
PORT_DEPTH_MM = 6.0


def fan_holes(spacing: float, diameter: float, centre_x: float = 0.0, slot: float = 0.0) -> tuple[Hole, ...]:
    """The four corner holes of one fan whose middle is at (``centre_x``, 0) [mm]."""
    half = spacing / 2
    corners = ((-half, -half), (half, -half), (half, half), (-half, half))
    return tuple(Hole((centre_x + x, y), diameter, slot) for x, y in corners)


def row_centres(count: int, pitch: float) -> tuple[float, ...]:
    """Places along x of ``count`` fans ``pitch`` apart, about 0 [mm]."""
    return tuple((number - (count - 1) / 2) * pitch for number in range(count))


def fan_faces(
    *,
    size: int,
    count: int,
    pitch: float,
    spacing: float,
    diameter: float,
    thickness: float,
    thread: str | None = None,
    screw_depth: float = 0.0,
) -> dict[str, Mount]:
    """The mounts of a flat part that takes fans on both faces; its origin is the middle of the fan field.

    ``a`` (roof face) and ``b`` (floor face) take the whole row at once; ``a1``, ``b1`` and so on,
    counted from the rear, take one fan each. ``spacing`` and ``diameter`` of the holes,
    ``thickness`` between the faces and ``screw_depth`` of threaded holes in [mm].
    """
    centres = row_centres(count, pitch)
    one = fan_holes(spacing, diameter)
    all_of_them = tuple(hole for x in centres for hole in fan_holes(spacing, diameter, x))
    mounts = {}
    for face, facing, z, other in (("a", "roof", thickness / 2, "b"), ("b", "floor", -thickness / 2, "a")):
        pose = Pose.facing((0.0, 0.0, z), DIRECTIONS[facing])
        mounts[face] = Mount(
            pose,
            "fan",
            MappingProxyType({str(size): all_of_them}),
            opposite=other,
            thread=thread,
            screw_depth=screw_depth,
        )
        for number, x in enumerate(centres, 1):
            mounts[f"{face}{number}"] = Mount(
                pose.shifted((x, 0.0, 0.0)),
                "fan",
                MappingProxyType({str(size): one}),
                row_of=face,
                opposite=f"{other}{number}",
                thread=thread,
                screw_depth=screw_depth,
            )
    return mounts


def fan_sheet(
    *,
    size: int,
    count: int,
    pitch: float | None,
    spacing: float | None = None,
    thickness: float,
    openings: Callable[[float], Iterable[Opening]],
    name: str,
    look: Look,
) -> Part:
    """A flat part as large as its row of fans, with their screw holes and the mounts of ``fan_faces``.

    ``pitch`` and ``spacing`` None: fans flush, holes as usual for the size; ``openings`` makes those
    of the fan whose middle is at the given x [mm]. ValueError where fans would overlap or holes fall
    out of the frame.
    """
    pitch = float(size) if pitch is None else pitch
    if count > 1 and pitch < size:
        raise ValueError(f"fan_pitch {pitch:g} mm: fans of {size} mm would overlap")
    spacing = FAN_HOLE_SPACING_MM[size] if spacing is None else spacing
    most = size - FAN_HOLE_MM - 1.0
    if spacing > most:
        raise ValueError(f"hole_spacing {spacing:g} mm does not fit a frame of {size} mm; most {most:g}")
    mounts = fan_faces(
        size=size, count=count, pitch=pitch, spacing=spacing, diameter=FAN_HOLE_MM, thickness=thickness
    )
    sheet = Plate(
        ((count - 1) * pitch + size, size),
        thickness,
        tuple(opening for x in row_centres(count, pitch) for opening in openings(x)),
        tuple(RoundOpening(hole.at, hole.diameter) for hole in mounts["a"].rows[str(size)]),
    )
    return Part(solids=(Solid(name, sheet, look=look),), mounts=MappingProxyType(mounts))


def check_duct(opening: float, size: int, spacing: float) -> None:
    """ValueError where a round duct [mm] leaves no frame, or none between it and the screw holes."""
    if opening > size - 1.0:
        raise ValueError(f"opening {opening:g} mm leaves no frame of {size} mm; most {size - 1}")
    web = spacing / 2**0.5 - FAN_HOLE_MM / 2 - opening / 2
    if web < 0.5:
        raise ValueError(
            f"opening {opening:g} mm leaves {web:.2f} mm to the holes {spacing:g} mm apart; least 0.5"
        )


#: Size of a thread in inches: 1/4, 1, 1 1/2; then the inch mark some write.
_INCHES = r"(\d/\d{1,2}|\d(?: \d/\d{1,2})?) ?(?:\"|in|inch)?"
#: Parallel pipe thread (ISO 228-1, the class of a male one may follow), taper pipe threads of both kinds,
#: metric (ISO 261), unified inch threads by number or inches and threads to the inch.
_PIPE = re.compile(rf"G ?{_INCHES} ?[AB]?", re.IGNORECASE)
_OTHER_THREADS = re.compile(
    rf"R[PC]? ?{_INCHES}|(?:{_INCHES} ?)(?:-\d{{1,2}} ?)?NP(?:T|TF|S)|NP(?:T|TF|S) ?{_INCHES}"
    r"|M ?\d{1,2}(?:\.\d{1,2})?(?: ?[xX×] ?\d(?:\.\d{1,3})?)?"
    rf"|(?:#\d{{1,2}}|{_INCHES})-\d{{1,2}}(?: ?(?:UNC|UNF|UNEF|UNS)(?:-[123][AB])?)?",
    re.IGNORECASE,
)


def normalised_thread(text: str) -> str:
    """The thread as this project spells it: ``G 1/4"`` becomes ``G1/4``; others keep their text.

    ValueError for what is no thread; a bare pipe size gets its G.
    """
    spaced = " ".join(text.split())
    if not spaced:
        raise ValueError("thread is empty: write G1/4 and the like, or leave it out")
    if (pipe := _PIPE.fullmatch(spaced)) is not None:
        return f"G{pipe[1]}"
    if _OTHER_THREADS.fullmatch(spaced) is not None:
        return spaced
    if (size := re.fullmatch(_INCHES, spaced)) is not None:
        raise ValueError(f"{text!r} is a size, not a thread: did you mean 'G{size[1]}'?")
    raise ValueError(f"unknown thread {text!r}: write G1/4, M10x1, '#6-32 UNC', '1/4 NPT' or the like")


def _spelled(value: object) -> object:
    return normalised_thread(value) if isinstance(value, str) else value


#: A parameter that is one of the threads of ``G_THREAD_MAJOR_MM``.
GThread = Annotated[Literal["G1/8", "G1/4", "G3/8", "G1/2"], BeforeValidator(_spelled)]


def threaded_port(
    at: Vec3,
    facing: Vec3,
    *,
    thread: str = "G1/4",
    depth: float = PORT_DEPTH_MM,
    up: Vec3 | None = None,
    into: tuple[str, ...] = (),
) -> tuple[Port, Bore]:
    """A port with a G thread, and the hole its thread makes in the exported solids ``into``.

    ``at`` lies on the face the port opens in, ``facing`` points out of the part; KeyError for a
    thread that is not in ``G_THREAD_MAJOR_MM``.
    """
    port2part = Pose.facing(at, facing, up)
    return Port(port2part, thread, depth), Bore(port2part, G_THREAD_MAJOR_MM[thread], depth, into)
