"""Habits of the house that a machine can hold us to."""

import ast
import re
from collections.abc import Iterator
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from django.template.loader import get_template

from parts.statuses import as_markdown

ROOT = Path(__file__).resolve().parent.parent.parent
ROOMS = ("garage", "parts", "fabrication")
FUNCTION_LINES, APP_LINES, TEST_LINES = 60, 400, 500

# Text that goes out as it is, and why it may.
UNESCAPED = {
    "fabrication/drawn/previews.py": "shapes drawn by exports.py, which escapes every word on them",
    "garage/templatetags/measures.py": "stamps and tags; every variable part goes by format_html",
    "fabrication/templatetags/curing.py": "times; every variable part goes by format_html",
    "parts/fasteners.py": "a type only",
    "parts/sheets.py": "the code drawn by segno holds squares, not text",
    "parts/stack_drawing.py": "drawn by format_html; every label is escaped",
}
# Pages a stranger may see; the access matrix holds their names too.
WITHOUT_SIGN_IN = {"fabrication/views/feed.py": 1, "garage/views/account.py": 2}


def modules(*folders: str) -> dict[str, str]:
    """The text of the Python files of ``folders``, by path; migrations are written by Django."""
    paths = (path for folder in folders for path in sorted((ROOT / folder).rglob("*.py")))
    return {
        str(path.relative_to(ROOT)): path.read_text()
        for path in paths
        if "migrations" not in path.parts
    }


def templates() -> dict[str, str]:
    folder = ROOT / "templates"
    return {str(path.relative_to(folder)): path.read_text() for path in folder.rglob("*.html")}


def views() -> dict[str, str]:
    return {path: text for path, text in modules(*ROOMS).items() if "views" in Path(path).parts} | {
        "garage/dashboard.py": (ROOT / "garage/dashboard.py").read_text()
    }


def calls(source: str) -> Iterator[tuple[int, str, ast.Call]]:
    """Every call: its line, and the dotted name of what is called, as far as it is a name."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call):
            yield node.lineno, dotted(node.func), node


def dotted(node: ast.AST) -> str:
    if isinstance(node, ast.Attribute):
        return f"{dotted(node.value)}.{node.attr}"
    return node.id if isinstance(node, ast.Name) else ""


# ---- views --------------------------------------------------------------------------------

QUERY_CALL = re.compile(r"\.(filter|exclude)$|\.objects\.(create|get_or_create|bulk_create)$")


def queries_in(path: str, source: str) -> list[str]:
    return [f"{path}:{at} {name}" for at, name, _ in calls(source) if QUERY_CALL.search(name)]


# Its gauges and counts are queries over several rooms that no room may know; each has a name.
QUERIES_OF_ITS_OWN = {"garage/dashboard.py"}


def test_views_name_their_queries() -> None:
    found = [
        said
        for path, source in views().items()
        if path not in QUERIES_OF_ITS_OWN
        for said in queries_in(path, source)
    ]

    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "source",
    [
        "Part.objects.filter(car=car)",
        "get_object_or_404(Part.objects.kept().exclude(pk=1))",
        "Part.objects.create(name='x')",
        "part.pieces.filter(x=1).first()",
    ],
)
def test_a_query_spelled_out_in_a_view_is_found(source: str) -> None:
    assert len(queries_in("view.py", source)) == 1


# ---- what nobody may write ----------------------------------------------------------------


def names_in(source: str) -> list[str]:
    """Every name used, imported or read off something."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Name):
            found.append(node.id)
        elif isinstance(node, ast.Attribute):
            found.append(node.attr)
        elif isinstance(node, ast.alias):
            found.append(node.name.rpartition(".")[2])
    return found


FORBIDDEN = {
    "csrf_exempt": "every form carries its token",
    "csrf_protect": "the middleware does it for all",
    "xframe_options_exempt": "no page is framed",
    "csp_exempt": "no page goes without its policy",
    "RawSQL": "the query builder quotes",
    "eval": "text is never run",
    "exec": "text is never run",
    "pickle": "data is never code",
    "shelve": "data is never code",
    "build_absolute_uri": "the Host header is a stranger's; SPLITPIN_PUBLIC_URL is ours",
    "get_current_site": "there is one garage",
}


ALLOWED_AFTER_ALL = {
    # Only where no public address is set, and the host is one of a list without jokers.
    ("build_absolute_uri", "parts/views/handover.py"),
}


@pytest.mark.parametrize("name", FORBIDDEN)
def test_what_is_forbidden_is_nowhere(name: str) -> None:
    used = {(name, path) for path, text in modules(*ROOMS).items() if name in names_in(text)}

    assert used == {pair for pair in ALLOWED_AFTER_ALL if pair[0] == name}, FORBIDDEN[name]


def test_no_command_goes_through_a_shell() -> None:
    through_shell = [
        f"{path}:{at}"
        for path, source in modules(*ROOMS, "tests").items()
        for at, name, call in calls(source)
        if name in ("os.system", "os.popen")
        or any(keyword.arg == "shell" for keyword in call.keywords)
    ]

    assert not through_shell, "\n".join(through_shell)


def test_only_the_named_files_write_markup_themselves() -> None:
    markup = {"mark_safe", "SafeString", "SafeData", "format_html", "format_html_join"}
    writing = {path for path, text in modules(*ROOMS).items() if markup & set(names_in(text))}

    assert writing - UNESCAPED.keys() == set()
    assert UNESCAPED.keys() - writing == set(), "a file that no longer does has to leave the list"
    assert all(UNESCAPED.values())


def test_nobody_marks_text_as_safe_by_django_s_shortcut() -> None:
    assert [p for p, text in modules(*ROOMS).items() if "mark_safe" in names_in(text)] == []


def test_only_setup_sign_in_and_the_private_calendar_are_open_to_strangers() -> None:
    marks = {
        path: len(re.findall(r"^@login_not_required\b", text, re.MULTILINE))
        for path, text in modules(*ROOMS).items()
        if "login_not_required" in names_in(text)
    }

    assert marks == WITHOUT_SIGN_IN


# ---- templates ----------------------------------------------------------------------------

# What the content security policy forbids, and what goes past the escaping.
NOT_IN_A_TEMPLATE = {
    "the safe filter": re.compile(r"\|\s*safe(seq)?\b"),
    "escaping switched off": re.compile(r"{%\s*autoescape\s+off"),
    "a style attribute": re.compile(r"<[^>]*\sstyle\s*=", re.IGNORECASE),
    "an event attribute": re.compile(r"<[a-z][^>]*\s(on[a-z]+|hx-on[^\s=]*)\s*=", re.IGNORECASE),
    "an inline script": re.compile(r"<script(?![^>]*\ssrc\s*=)[^>]*>", re.IGNORECASE),
    "an inline style": re.compile(r"<style\b", re.IGNORECASE),
    "a script address": re.compile(r"javascript:", re.IGNORECASE),
    "script in an htmx value": re.compile(r"hx-(vals|headers)\s*=\s*[\"']\s*js:", re.IGNORECASE),
    "something from elsewhere": re.compile(r"(src|href|action)\s*=\s*[\"'](https?:)?//"),
}


@pytest.mark.parametrize("what", NOT_IN_A_TEMPLATE)
def test_no_template_holds(what: str) -> None:
    holding = [name for name, text in templates().items() if NOT_IN_A_TEMPLATE[what].search(text)]

    assert not holding, "\n".join(holding)


@pytest.mark.parametrize(
    ("what", "text"),
    [
        ("the safe filter", "{{ note|safe }}"),
        ("the safe filter", "{{ notes | safeseq }}"),
        ("escaping switched off", "{% autoescape off %}"),
        ("a style attribute", '<p class="a" style="color: red">'),
        ("an event attribute", '<button type="button" onclick="go()">'),
        ("an event attribute", '<button hx-on:click="go()">'),
        ("an inline script", "<script>go()</script>"),
        ("an inline script", '<script type="module">go()</script>'),
        ("an inline style", "<style>p {}</style>"),
        ("a script address", '<a href="javascript:go()">'),
        ("script in an htmx value", "<p hx-vals='js:{a: 1}'>"),
        ("something from elsewhere", '<script src="https://cdn.example/x.js">'),
        ("something from elsewhere", "<img src='//cdn.example/x.png'>"),
    ],
)
def test_what_no_template_may_hold_is_found(what: str, text: str) -> None:
    assert NOT_IN_A_TEMPLATE[what].search(text)


def test_every_post_form_carries_its_token() -> None:
    form = re.compile(r"<form\b[^>]*method=\"post\"[^>]*>(.*?)</form>", re.DOTALL | re.IGNORECASE)
    bare = [
        name
        for name, text in templates().items()
        for inside in form.findall(text)
        if "{% csrf_token %}" not in inside
    ]

    assert not bare, "\n".join(bare)


def test_every_template_is_used() -> None:
    told = [*modules(*ROOMS).values(), *templates().values()]
    unused = [
        name
        for name in templates()
        if not any(f'"{name}"' in text or f'"{name}#' in text for text in told)
    ]

    assert not unused, "\n".join(unused)


@pytest.mark.parametrize("name", sorted(templates()))
def test_every_template_can_be_read(name: str) -> None:
    assert get_template(name).template.nodelist


def test_every_template_that_is_named_is_there() -> None:
    named = {
        match
        for text in [*modules(*ROOMS).values(), *templates().values()]
        for match in re.findall(
            r"\"((?:garage|parts|fabrication|includes|print)/[\w/]+\.html)", text
        )
    }

    assert named - templates().keys() == set()
    assert len(named) > 20


# ---- size, words, documents ---------------------------------------------------------------


def long_functions(path: str, source: str) -> list[str]:
    return [
        f"{path}:{node.lineno} {node.name}: {lines} lines"
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and (lines := body_lines(node)) > FUNCTION_LINES
    ]


def body_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of the body; a docstring is not counted."""
    body = function.body
    if isinstance(body[0], ast.Expr) and isinstance(body[0].value, ast.Constant):
        body = body[1:]
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def test_every_function_fits_on_a_screen() -> None:
    everything = modules(*ROOMS, "tests") | {"manage.py": (ROOT / "manage.py").read_text()}

    assert [said for path, text in everything.items() for said in long_functions(path, text)] == []


@pytest.mark.parametrize(("lines", "found"), [(60, 0), (61, 1)])
def test_a_function_longer_than_a_screen_is_found(lines: int, found: int) -> None:
    source = 'def f():\n    """Not counted."""\n' + "    x = 1\n" * lines

    assert len(long_functions("x.py", source)) == found


def test_every_file_is_short_enough_to_know() -> None:
    app = {path: text for path, text in modules(*ROOMS).items()}
    long = [path for path, text in app.items() if text.count("\n") > APP_LINES]
    long += [path for path, text in modules("tests").items() if text.count("\n") > TEST_LINES]

    assert not long, "\n".join(long)


def written() -> dict[str, str]:
    """Every text file that goes into the repository."""
    kinds = ("*.py", "*.html", "*.css", "*.js", "*.toml", "*.md", "*.txt", "*.svg")
    folders = (*ROOMS, "tests", "templates", "docs", ".ci")
    paths = [path for folder in folders for kind in kinds for path in (ROOT / folder).rglob(kind)]
    paths += [path for kind in kinds for path in ROOT.glob(kind)]
    return {str(path.relative_to(ROOT)): path.read_text() for path in paths}


# Spelled so that this file does not find itself.
LEFT_OVER = re.compile(r"\b(TO" + r"DO|FIX" + r"ME|XX" + r"X|HA" + r"CK)\b")
MACHINE_PATH = re.compile(r"(?<![\w.}])/(?:work|root|Users|home)/\w")


def test_nothing_is_left_for_later_in_a_comment() -> None:
    assert [path for path, text in written().items() if LEFT_OVER.search(text)] == []


def test_no_file_knows_the_machine_it_was_written_on() -> None:
    assert [path for path, text in written().items() if MACHINE_PATH.search(text)] == []


def test_the_table_of_statuses_in_the_documents_is_that_of_the_code() -> None:
    head, table = (ROOT / "docs" / "statuses.md").read_text().split("\n\n", 1)

    assert head == "# What a piece can be, and the moves between\n".strip()
    assert table == as_markdown()


def test_the_migrations_hold_every_field_of_the_models(db: None) -> None:
    said = StringIO()

    call_command("makemigrations", dry_run=True, stdout=said)

    assert said.getvalue() == "No changes detected\n"
