"""Which port of a part is screwed to which of another."""

from __future__ import annotations

from shapes.part import Part, Port


def is_port_seat(guest: Part, host: Part, name: str) -> bool:
    """Whether ``name`` means a port of the host the guest is screwed to, not a mount of that name."""
    return name in host.ports and (name not in host.mounts or not guest.mounts)


def screwed_by(guest: Part, onto: Port) -> str | None:
    """The guest's port that goes with ``onto``: the first male one for a female, the first female for a male.

    The first threaded one where none suits, for the check of threads to speak of; None where the guest
    has no thread at all.
    """
    threaded = [name for name, port in guest.ports.items() if port.thread is not None]
    suited = [name for name in threaded if guest.ports[name].male != onto.male]
    return next(iter([*suited, *threaded]), None)


def leads_on(guest: Part, by: str) -> str | None:
    """Of a part with two ports the one that is not ``by``; None for any other part."""
    others = [name for name in guest.ports if name != by]
    return others[0] if len(others) == 1 else None
