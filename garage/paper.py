"""The one door to paper: a template and its figures in, a PDF out.

WeasyPrint is imported with the first sheet, not with the site: it takes half a second and needs
Pango. Nothing on a sheet is fetched from anywhere: an address is answered from the short list of
this sheet or not at all, because the words on it are typed by people. Stylesheets and font are
read once per process.
"""

import atexit
import functools
import io
import logging
import threading
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.template.loader import render_to_string

if TYPE_CHECKING:
    from weasyprint import CSS
    from weasyprint.text.fonts import FontConfiguration

STATIC = Path(__file__).resolve().parent / "static" / "garage"
# Beside the templates of the sheets, for no browser is ever to fetch it.
STYLES = {"sheet": STATIC.parents[2] / "templates" / "print" / "sheet.css"}
FONT = STATIC / "fonts" / "splitpin-sans.woff2"
WEIGHTS = (400, 700)
PAPERS = {"a4": "@page { size: 210mm 297mm }", "letter": "@page { size: 215.9mm 279.4mm }"}
PANGO_IS_MISSING = (
    "This machine cannot make a PDF: Pango is missing. On Debian or Ubuntu install it with "
    "apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0, then start again."
)
# Pango's font map is not safe for two threads at once, and a home server has two cores.
TURN = threading.Lock()


class PaperNotPossible(Exception):
    """No PDF can be made on this machine; says which packages are missing."""


def render(
    template: str,
    context: Mapping[str, Any],
    *,
    paper: str,
    name: str,
    pictures: Mapping[str, Path] | None = None,
    true_size: bool = False,
) -> bytes:
    """The PDF of ``template`` on ``paper`` ("a4" or "letter"), called ``name`` in a viewer's title.

    ``pictures`` are the files it may show, by the address the template gives them, such as
    "app-photo:3f…". ``true_size`` asks the viewer not to scale when it prints.

    Raises
    ------
    PaperNotPossible
        When Pango is not installed.
    KeyError
        When there is no such paper.
    """
    weasyprint = _weasyprint()
    size = PAPERS[paper]
    html = render_to_string(template, {**context, "title": name, "paper": paper})
    fetcher = _fetcher({**(pictures or {})})
    with TURN:
        return weasyprint.HTML(string=html, base_url="app:", url_fetcher=fetcher).write_pdf(
            stylesheets=[_style("sheet"), _page(size)],
            font_config=_fonts(),
            pdf_variant="pdf/ua-1",
            finisher=functools.partial(_prefer, true_size=true_size),
        )


def plain(html: str, *, pictures: Mapping[str, Path] | None = None) -> bytes:
    """The PDF of ``html`` with no stylesheet or font of ours: the least of a sheet."""
    weasyprint = _weasyprint()
    fetcher = _fetcher({**(pictures or {})})
    with TURN:
        return weasyprint.HTML(string=html, base_url="app:", url_fetcher=fetcher).write_pdf()


def _prefer(document: Any, pdf: Any, *, true_size: bool) -> None:
    """What a viewer is asked: the title in its bar, and no scaling where millimetres count."""
    preferences = pdf.catalog.setdefault("ViewerPreferences", _weasyprint_dictionary())
    preferences["DisplayDocTitle"] = "true"
    preferences["PickTrayByPDFSize"] = "true"
    if true_size:
        preferences["PrintScaling"] = "/None"


def _weasyprint() -> Any:
    """WeasyPrint, on first use."""
    try:
        import weasyprint  # noqa: PLC0415  half a second, and it needs Pango
    except OSError:
        raise PaperNotPossible(PANGO_IS_MISSING) from None
    logging.getLogger("weasyprint").setLevel(logging.ERROR)
    return weasyprint


def _weasyprint_dictionary() -> Any:
    import pydyf  # noqa: PLC0415  comes with WeasyPrint

    return pydyf.Dictionary()


def _fetcher(allowed: Mapping[str, Path | bytes]) -> Any:
    """A fetcher that knows the pictures of ``allowed`` and refuses every other address."""
    from weasyprint.urls import (  # noqa: PLC0415  it needs Pango
        URLFetcher,
        URLFetcherResponse,
        URLFetchingError,
    )

    class OnlyThese(URLFetcher):
        def fetch(self, url: str, headers: Any = None) -> URLFetcherResponse:
            if url not in allowed:
                raise URLFetchingError("a sheet shows its own pictures and nothing else")
            held = allowed[url]
            body = held if isinstance(held, bytes) else held.read_bytes()
            return URLFetcherResponse(url, body, headers={"Content-Type": _kind(body)})

    return OnlyThese()


def _kind(body: bytes) -> str:
    return "image/jpeg" if body.startswith(b"\xff\xd8") else "font/ttf"


@functools.cache
def _font_files() -> dict[str, bytes]:
    """The two weights sheets are set in, cut from the variable font once: every PDF would do it."""
    # It comes with WeasyPrint, and has no types.
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]  # noqa: PLC0415
    from fontTools.varLib import instancer  # type: ignore[import-untyped]  # noqa: PLC0415

    files = {}
    for weight in WEIGHTS:
        cut = instancer.instantiateVariableFont(
            TTFont(FONT), {"wght": weight}, updateFontNames=False
        )
        cut.flavor = None
        cut["OS/2"].usWeightClass = weight
        file = io.BytesIO()
        cut.save(file)
        files[f"app-font:{weight}"] = file.getvalue()
    return files


@functools.cache
def _fonts() -> "FontConfiguration":
    from weasyprint.text.fonts import FontConfiguration  # noqa: PLC0415  it needs Pango

    # It removes its font files when it goes, which it cannot do once the interpreter comes down.
    atexit.register(_forget)
    return FontConfiguration()


def _forget() -> None:
    for cached in (_style, _page, _fonts):
        cached.cache_clear()


@functools.cache
def _style(name: str) -> "CSS":
    return _css(STYLES[name].read_text(encoding="utf-8"))


@functools.cache
def _page(size: str) -> "CSS":
    return _css(size)


def _css(text: str) -> "CSS":
    return _weasyprint().CSS(
        string=text, base_url="app:", url_fetcher=_fetcher(_font_files()), font_config=_fonts()
    )
