"""The machine of the access matrix: every address x everybody x every method, judged.

Nothing here knows a page. A route is found in the URLconf, its arguments and its few exceptions in
``tests.garage.matrix``, and what it may change is read from a digest of every table.
"""

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from django.conf import settings
from django.db import connection, transaction
from django.http import HttpResponseBase
from django.shortcuts import resolve_url
from django.test import Client
from django.urls import NoReverseMatch, URLPattern, URLResolver, get_resolver, reverse

from garage.models import Person
from tests.garage import matrix
from tests.garage.matrix import World

LOOKS = ("GET", "HEAD")
ODD_METHODS = ("PUT", "PATCH", "DELETE", "OPTIONS", "TRACE")
METHODS = (*LOOKS, "POST", *ODD_METHODS)
UNSAFE_METHODS = ("POST", "PUT", "PATCH", "DELETE")
RANKS = {"anonymous": -1, "viewer": 0, "helper": 1, "owner": 2}
BACKEND = "django.contrib.auth.backends.ModelBackend"
Payload = dict[str, Any]
# Names that a page may read from its address or a post although no form of it shows them.
EVERY_PAGE_READS = {
    *("q", "page", "next", "piece", "system", "place", "where", "sort", "rows", "key", "event"),
    *("pk", "tag", "number", "paper", "letter", "part", "hole", "photos", "to", "x", "y"),
}


@dataclass(frozen=True)
class Route:
    name: str
    kwargs: tuple[str, ...]
    pattern: str


def routes(
    resolver: URLResolver | None = None, prefix: str = "", kwargs: tuple[str, ...] = ()
) -> Iterator[Route]:
    """Every route of the URLconf in force, those of included lists too."""
    for entry in (resolver or get_resolver()).url_patterns:
        pattern = prefix + str(entry.pattern)
        takes = (*kwargs, *entry.pattern.converters)
        if isinstance(entry, URLResolver):
            yield from routes(entry, pattern, takes)
        elif isinstance(entry, URLPattern):
            yield Route(entry.name or "", takes, pattern)


def address(route: Route, world: World) -> str:
    """The route's address in ``world``.

    Raises
    ------
    LookupError
        When an argument has no provider, with the line that is missing in ``matrix.PROVIDERS``.
    """
    missing = [kwarg for kwarg in route.kwargs if (route.name, kwarg) not in matrix.PROVIDERS]
    if missing:
        raise LookupError(f"no argument provider for {route.name} {missing[0]} ({route.pattern})")
    kwargs = {kwarg: matrix.PROVIDERS[route.name, kwarg](world) for kwarg in route.kwargs}
    return reverse(route.name, kwargs=kwargs)


def needed(name: str, method: str) -> str:
    """The least of the four that may do it."""
    if name in matrix.PUBLIC:
        return "anonymous"
    if name in matrix.OWNER_ONLY or (method == "POST" and name in matrix.OWNER_MAY_POST):
        return "owner"
    if method in LOOKS or (method == "POST" and name in matrix.VIEWER_MAY_POST):
        return "viewer"
    return "helper"


# What a statement may begin with that changes no row; whatever else it is, the rows are compared.
ONLY_LOOKS = ("SELECT", "SAVEPOINT", "RELEASE SAVEPOINT", "ROLLBACK TO SAVEPOINT")


@contextmanager
def watched() -> Iterator[list[str]]:
    """The statements of the block that may have changed a row."""
    wrote: list[str] = []

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if not sql.lstrip().upper().startswith(ONLY_LOOKS):
            wrote.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        yield wrote


def digest(*, rows: bool = True) -> str:
    """One hash over every row of every table but sessions and counted sign-in tries, and one over
    the names and sizes of the photo files."""
    seen = hashlib.sha256()
    for path in sorted((settings.SPLITPIN_DATA / "photos").rglob("*")):
        if path.is_file():
            seen.update(f"{path.name} {path.stat().st_size}".encode())
    files = seen.hexdigest()
    return f"{files} {_rows()}" if rows else files


def _rows() -> str:
    seen = hashlib.sha256()
    with connection.cursor() as cursor:
        for table in _tables():
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            seen.update(repr((table, sorted(map(repr, cursor.fetchall())))).encode())
    return seen.hexdigest()


def _tables() -> list[str]:
    names = connection.introspection.django_table_names(only_existing=True)
    return sorted(n for n in names if n != "django_session" and not n.startswith("axes_"))


@dataclass
class Walk:
    """One walk over the URLconf in force; ``violations`` are sentences, each naming its cell."""

    world: World
    only: frozenset[str] = frozenset()
    violations: list[str] = field(default_factory=list)
    cells: int = 0

    def __post_init__(self) -> None:
        self.sessions = {
            role: _session(person) for role, person in self.world.people.items() if person
        }
        self.before = digest()
        self.addresses = dict(self._addresses())
        self.forms = self._forms_on_the_pages()

    def _addresses(self) -> Iterator[tuple[str, str]]:
        found = list(routes())
        for name in self._listed() - {route.name for route in found}:
            self.violations.append(f"{name} is listed, but no such route is there")
        for route in found:
            if not route.name:
                self.violations.append(f"{route.pattern} has no name")
            elif not self.only or route.name in self.only:
                try:
                    yield route.name, address(route, self.world)
                except (LookupError, NoReverseMatch) as unknown:
                    self.violations.append(str(unknown))

    def _listed(self) -> set[str]:
        lists = (matrix.PUBLIC, matrix.OWNER_ONLY, matrix.OWNER_MAY_POST, matrix.VIEWER_MAY_POST)
        with_arguments = {name for name, _ in matrix.PROVIDERS}
        return set().union(*lists, matrix.OTHER_ANSWERS, with_arguments)

    def _forms_on_the_pages(self) -> dict[str, list[Payload]]:
        """Every form of every page as the owner sees it, by the address it posts to."""
        found: dict[str, list[Payload]] = defaultdict(list)
        mark = transaction.savepoint()
        for url in self.addresses.values():
            answer = self.call("owner", "GET", url)
            if answer.headers.get("Content-Type", "").startswith("text/html"):
                for action, payloads in forms_in(_text(answer)):
                    found[action or url] += payloads
        transaction.savepoint_rollback(mark)
        return found

    def payloads(self, url: str) -> list[Payload]:
        """What is posted to ``url``: nothing, and each form that leads there."""
        return [{}, *{repr(filled): filled for filled in self.forms.get(url, ())}.values()]

    def call(
        self, role: str, method: str, url: str, data: Payload | None = None, **options: Any
    ) -> HttpResponseBase:
        client = Client(raise_request_exception=False, **options.pop("client", {}))
        if role in self.sessions:
            client.cookies[settings.SESSION_COOKIE_NAME] = self.sessions[role]
        if method == "POST":
            return client.post(url, data or {}, **options)
        if method == "GET":
            return client.get(url, data or {}, **options)
        return client.generic(method, url, **options)

    def roles(self, roles: Iterable[str]) -> "Walk":
        """Every route x every method as each of ``roles``; every call is taken back after it."""
        for role in roles:
            for name, url in self.addresses.items():
                for method in METHODS:
                    for data in self.payloads(url) if method == "POST" else [{}]:
                        self._cell(role, name, method, url, data)
                if role == "anonymous":
                    self._fragment(name, url)
        return self

    def _cell(self, role: str, name: str, method: str, url: str, data: Payload) -> None:
        mark = transaction.savepoint()
        with watched() as wrote:
            answer = self.call(role, method, url, data)
        may = RANKS[role] >= RANKS[needed(name, method)] and method not in ODD_METHODS
        problem = self._problem(role, name, method, answer, may)
        if not problem and not (may and method == "POST") and self._changed(wrote):
            problem = "changed data"
        transaction.savepoint_rollback(mark)
        self._note(problem, role, method, name, data, answer)

    def _changed(self, wrote: list[str]) -> bool:
        """Whether a row or a photo file is another than before the walk."""
        if wrote:
            return digest() != self.before
        return digest(rows=False) != self.before.split()[0]

    def _problem(
        self, role: str, name: str, method: str, answer: HttpResponseBase, may: bool
    ) -> str:
        code = answer.status_code
        if code >= 500:
            return _broke(answer)
        if code in matrix.OTHER_ANSWERS.get(name, ()) and (may or name in matrix.PUBLIC):
            return ""
        if role == "anonymous" and name not in matrix.PUBLIC:
            return "" if _asks_to_sign_in(answer) else "is open to a stranger"
        if may:
            good = code < 400 or code in (405, 422)
            return "" if good and not _asks_to_sign_in(answer) else "is refused to who may"
        return "" if code in (403, 405) else "is not refused"

    def _fragment(self, name: str, url: str) -> None:
        """A piece of a page asked for by a stranger: told to leave for the sign-in page."""
        answer = self.call("anonymous", "GET", url, headers={"HX-Request": "true"})
        led = answer.headers.get("HX-Redirect", "").startswith(resolve_url(settings.LOGIN_URL))
        problem = "" if name in matrix.PUBLIC or (led and not _text(answer)) else "shows a fragment"
        self._note(problem, "anonymous", "htmx GET", name, {}, answer)

    def without_token(self) -> "Walk":
        """Every route x every unsafe method without a CSRF token, as the owner and a stranger."""
        strict = {"enforce_csrf_checks": True}
        for role in ("owner", "anonymous"):
            for name, url in self.addresses.items():
                for method in UNSAFE_METHODS:
                    for data in self.payloads(url) if method == "POST" else [{}]:
                        mark = transaction.savepoint()
                        with watched() as wrote:
                            answer = self.call(role, method, url, data, client=strict)
                        problem = "" if answer.status_code == 403 else "goes without a token"
                        if not problem and self._changed(wrote):
                            problem = "changed data without a token"
                        transaction.savepoint_rollback(mark)
                        self._note(problem, role, method, name, data, answer)
        return self

    def with_junk(self, junk: Iterable[str]) -> "Walk":
        """Every route asked and sent as the owner with ``junk`` in every field it is known to
        have, and in those that any page might read; the answer may be anything but a breakdown."""
        for name, url in self.addresses.items():
            fields = {
                key for filled in self.forms.get(url, ()) for key in filled
            } | EVERY_PAGE_READS
            for text in junk:
                data = dict.fromkeys(sorted(fields), text)
                for method in ("GET", "POST"):
                    mark = transaction.savepoint()
                    answer = self.call("owner", method, url, data)
                    transaction.savepoint_rollback(mark)
                    self._note(
                        _broke(answer) if answer.status_code >= 500 else "",
                        *("owner", method, name, {"every field": text[:12]}, answer),
                    )
        return self

    def _note(
        self, problem: str, role: str, method: str, name: str, data: Payload, answer: Any
    ) -> None:
        self.cells += 1
        if problem:
            sent = f" with {data}" if data else ""
            cell = f"{method} {name} as {role}{sent}"
            self.violations.append(f"{cell}: {answer.status_code} {problem}")


def _session(person: Person) -> str:
    client = Client()
    client.force_login(person, backend=BACKEND)
    return client.cookies[settings.SESSION_COOKIE_NAME].value


def _broke(answer: HttpResponseBase) -> str:
    return f"broke: {answer.exc_info[1]!r:.300}" if getattr(answer, "exc_info", None) else "broke"


def _asks_to_sign_in(answer: HttpResponseBase) -> bool:
    to = answer.headers.get("Location", "")
    return answer.status_code == 302 and to.startswith(f"{resolve_url(settings.LOGIN_URL)}?next=")


def _text(answer: HttpResponseBase) -> str:
    return answer.getvalue().decode()


def forms_in(html: str) -> list[tuple[str, list[Payload]]]:
    """The post forms of a page: where each leads, and what it sends, once for each named button."""
    reader = _Forms()
    reader.feed(html)
    return reader.found


class _Forms(HTMLParser):
    """Reads the controls of a form as a browser would send them untouched."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, list[Payload]]] = []
        self.action: str | None = None
        self.fields: Payload = {}
        self.buttons: list[Payload] = []
        self.open = ""
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        has = dict(attrs)
        name, value = has.get("name") or "", has.get("value") or ""
        if tag == "form" and (has.get("method") or "").lower() == "post":
            self.action, self.fields, self.buttons = has.get("action") or "", {}, []
        elif self.action is None:
            return
        elif tag == "button" and name:
            self.buttons.append({name: value})
        elif tag == "textarea":
            self.open, self.text = name, ""
        elif tag == "select":
            self.open = name
        elif tag == "option" and self.open and (self.open not in self.fields or "selected" in has):
            self.fields[self.open] = value
        elif tag == "input" and name and name != "csrfmiddlewaretoken":
            ticks = has.get("type") in ("checkbox", "radio")
            if has.get("type") != "file" and (not ticks or "checked" in has):
                self.fields[name] = value

    def handle_data(self, data: str) -> None:
        self.text += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form" and self.action is not None:
            sent = [self.fields | button for button in self.buttons or [{}]]
            self.found.append((self.action, sent))
            self.action = None
        elif tag in ("select", "textarea") and self.action is not None:
            if tag == "textarea":
                self.fields[self.open] = self.text
            self.open = ""
