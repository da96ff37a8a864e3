"""The door to paper: when WeasyPrint comes in, and what is said when it cannot."""

import io
import os
import subprocess
import sys
from pathlib import Path

import pdfplumber

from garage import paper

ROOT = Path(paper.__file__).resolve().parents[1]


def _python(code: str, *, first_on_path: Path | None = None) -> subprocess.CompletedProcess[str]:
    path = os.pathsep.join(str(folder) for folder in (first_on_path, ROOT) if folder)
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings", "PYTHONPATH": path}
    return subprocess.run(
        [sys.executable, "-c", f"import django; django.setup()\n{code}"],
        env=environment,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_site_starts_without_weasyprint() -> None:
    heavy = "('weasyprint', 'fontTools', 'pydyf')"
    ran = _python(f"import sys, garage.urls\nprint([m for m in {heavy} if m in sys.modules])")

    assert ran.stdout.strip() == "[]", ran.stderr


def test_a_machine_without_pango_is_told_which_packages_are_missing(tmp_path: Path) -> None:
    # What WeasyPrint's import raises on a Debian without Pango: the loader's own OSError.
    (tmp_path / "weasyprint.py").write_text(
        "import ctypes\nctypes.CDLL('libgobject-of-no-machine.so.0')\n"
    )
    ran = _python(
        "from garage import paper\n"
        "try:\n    paper.render('error.html', {}, paper='a4', name='x')\n"
        "except paper.PaperNotPossible as told:\n    print(told)",
        first_on_path=tmp_path,
    )

    assert "libpango-1.0-0 libpangoft2-1.0-0" in ran.stdout, ran.stderr
    assert "Traceback" not in ran.stderr


def test_a_sheet_to_be_laid_on_metal_asks_for_no_scaling() -> None:
    pdf = paper.render("print/base_sheet.html", {}, paper="letter", name="Test", true_size=True)

    with pdfplumber.open(io.BytesIO(pdf)) as document:
        wishes = document.doc.catalog["ViewerPreferences"]
        # 8.5 x 11 in (ANSI/ASME Y14.1 size A) are 612 x 792 points.
        assert (document.pages[0].width, document.pages[0].height) == (612, 792)
    assert wishes["PrintScaling"].name == "None"
    assert wishes["PickTrayByPDFSize"] is True
