"""The HTML document round a page's body: its own style and script, and a policy that lets in no others."""

from __future__ import annotations

import base64
import hashlib
from html import escape
from importlib.resources import files

FINE = "Made from a model: it is as right as what was measured. Lengths are in mm."


def document(title: str, body: str, *, with_script: bool, policy: str) -> str:
    """The document. ``body`` is markup, ``title`` text; ``policy`` is what ``policy_of`` gives."""
    script = script_text() if with_script else ""
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{escape(policy)}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<link rel="icon" href="data:,">\n<title>{escape(title)}</title>\n<style>{_style()}</style>\n'
        f"</head>\n<body>\n{body}{f'<script>{script}</script>' if with_script else ''}\n</body>\n</html>\n"
    )


def policy_of(*, with_script: bool, connect: str = "blob: data:") -> str:
    """A content security policy: this script and style by their hashes, and nothing else.

    connect : what the script may ask for
    """
    script = f"'{_hash(script_text())}'" if with_script else "'none'"
    return (
        f"default-src 'none'; script-src {script}; style-src '{_hash(_style())}'; "
        f"img-src data: blob:; connect-src {connect}; base-uri 'none'; form-action 'none'"
    )


def script_text() -> str:
    """The page's script, built from ``preview_page/``."""
    return _resource("page.js")


def _style() -> str:
    return _resource("page.css")


def _resource(name: str) -> str:
    return (files("layout3d.preview") / name).read_text("utf-8").replace("\r\n", "\n")


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
