"""The page at the water: its document, manifest and service worker; and the same page as one file without a server."""

from __future__ import annotations

import hashlib
import json
import re
from functools import cache

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from plumeline.safety import SAFETY_CARD
from plumeline.web.pages import Here
from plumeline.web.site import FOLDER, site_of

router = APIRouter()
PAGE = "/capture"
STATIC = FOLDER / "static" / "capture"
MODULES = (
    "sha256.js", "keep.js", "page.js", "units_table.js", "units.js", "place.js", "drafts.js", "form.js", "walk.js",
    "finish.js", "outbox.js", "told.js", "waiting.js", "capture.js",
)  # fmt: skip
"""Every script of the page, each before those that use it."""
KEPT = (
    "/static/icon.svg",
    "/capture/manifest.webmanifest",
    *(f"/static/capture/{name}" for name in ("capture.css", *MODULES)),
)
MANIFEST = {
    "id": PAGE,
    "name": "Plumeline at the water",
    "short_name": "At the water",
    "start_url": PAGE,
    "scope": PAGE,
    "display": "standalone",
    "background_color": "#f4f1e8",
    "theme_color": "#0b3c49",
    "icons": [
        {"src": "/static/capture/icon-192.png", "sizes": "192x192", "type": "image/png", "purpose": "any"},
        {
            "src": "/static/capture/icon-512.png",
            "sizes": "512x512",
            "type": "image/png",
            "purpose": "any maskable",
        },
        {"src": "/static/icon.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any"},
    ],
}


def _document(request: Request) -> str:
    # nothing of a person or a session stands in it: the worker keeps it by its hash
    return site_of(request).templates.get_template("capture.html").render(alone=False, safety=SAFETY_CARD)


def _manifest() -> bytes:
    return json.dumps(MANIFEST, ensure_ascii=False, separators=(",", ":")).encode()


@router.get(PAGE)
def capture(request: Request, _site: Here) -> Response:
    """Show the page at the water."""
    return HTMLResponse(_document(request))


@router.get("/capture/manifest.webmanifest")
def manifest(_site: Here) -> Response:
    """Tell what the page is called on a home screen, and its icons."""
    return Response(_manifest(), media_type="application/manifest+json")


@router.get("/capture/worker.js")
def worker(request: Request, _site: Here) -> Response:
    """Give the service worker, with the hash of everything that it keeps."""
    files = [(PAGE, _hash(_document(request).encode()))]
    for path in KEPT:
        data = _manifest() if path.startswith("/capture/") else (FOLDER / path.lstrip("/")).read_bytes()
        files.append((path, _hash(data)))
    version = _hash(json.dumps(files).encode())[:16]
    text = f"const FILES = {json.dumps(files)}, VERSION = {json.dumps(version)};\n"
    text += (STATIC / "worker.js").read_text(encoding="utf-8")
    return Response(text, media_type="text/javascript", headers={"Service-Worker-Allowed": PAGE})


def _hash(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


@cache
def field_sheet() -> str:
    """Return the page as one HTML file that needs no server: scripts and styles stand in it."""
    from plumeline.web.site import page_templates

    style = (STATIC / "capture.css").read_text(encoding="utf-8")
    return (
        page_templates()
        .get_template("capture.html")
        .render(alone=True, safety=SAFETY_CARD, style=style, script=_bundle())
    )


def _bundle() -> str:
    """Return the modules as one script: each in a function of its own that gives what it exports."""
    parts = []
    for name in MODULES:
        text = (STATIC / name).read_text(encoding="utf-8")
        exported = re.findall(r"^export (?:async )?(?:const|function) (\w+)", text, re.M)
        text = re.sub(r"^export ", "", text, flags=re.M)
        text = re.sub(r'^import \* as (\w+) from "\./(\w+)\.js";', r"const \1 = \2_js;", text, flags=re.M)
        text = re.sub(
            r'^import \{([^}]+)\} from "\./(\w+)\.js";',
            lambda found: f"const {{{found[1].replace(' as ', ': ')}}} = {found[2]}_js;",
            text, flags=re.M,
        )  # fmt: skip
        stem = name.removesuffix(".js")
        parts.append(f"const {stem}_js = (() => {{\n{text}\nreturn {{ {', '.join(exported)} }};\n}})();")
    return "\n".join(parts).replace("</script", "<\\/script")
