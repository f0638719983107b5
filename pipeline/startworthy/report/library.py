"""The drawing library inside a page, packed, and the security policy that lets it and nothing else run.

The library stands in the page as compressed text. The page's own script unpacks it when the first chart comes
near, and puts it in as an inline script: the policy holds the hash of exactly that text.
"""

from __future__ import annotations

import base64
import hashlib
import re
import zlib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class Library:
    """packed: gzip, base64. source_hash: of the unpacked text. skips: ids of style sheets it need not add."""

    packed: str
    source_hash: str
    skips: tuple[str, ...]


@cache
def library() -> Library:
    """plotly.js as the installed plotly package brings it. Packed once in a process."""
    source = (files("plotly") / "package_data" / "plotly.min.js").read_bytes()
    # The part of the library that draws maps adds its style sheet unless an element of that id is there.
    # No page draws maps, and the policy would refuse the sheet with an error on the console.
    skips = re.findall(rb'getElementById\("([0-9a-f]{64})"\)', source)
    packed = base64.b64encode(zlib.compress(source, 6, 31)).decode("ascii")
    return Library(packed, csp_hash(source), tuple(dict.fromkeys(one.decode("ascii") for one in skips)))


def csp_hash(source: bytes | str) -> str:
    """The source expression for an inline script or style of exactly this text."""
    data = source.encode("utf-8") if isinstance(source, str) else source
    return f"'sha256-{base64.b64encode(hashlib.sha256(data).digest()).decode('ascii')}'"


def policy(*, style: str, script: str | None = None) -> str:
    """The content security policy of a page with that style sheet and, where it has charts, that script.

    What `default-src` closes (images, frames, objects, connections, fonts) is not named again. Hashes need no server,
    so the policy holds for a page opened from disk.
    """
    parts = ["default-src 'none'", "base-uri 'none'", "form-action 'none'"]
    if script is None:
        return "; ".join([*parts, f"style-src {csp_hash(style)}"])
    # The library adds an empty style element and fills it rule by rule; what it draws it styles through the object
    # model, which no policy forbids. So neither needs 'unsafe-inline'.
    parts.append(f"style-src {csp_hash(style)} {csp_hash('')}")
    return "; ".join([*parts, f"script-src {csp_hash(script)} {library().source_hash}"])
