"""Who may come in: roles, the first owner's code, the count of wrong tries, ending sessions."""

import re
from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.http import HttpRequest, HttpResponse
from django.test.client import RequestFactory
from pytest_django import Settings

from garage import people
from garage.models import Person, Role, SetupCode
from garage.models.person import fold_username
from tests import factories
from tests.factories import NOW, PASS_PHRASE

WREN = {"username": "wren", "name": "Wren", "password": PASS_PHRASE}


# ---- roles --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("role", "may"),
    [
        (Role.OWNER, {Role.OWNER, Role.HELPER, Role.VIEWER}),
        (Role.HELPER, {Role.HELPER, Role.VIEWER}),
        (Role.VIEWER, {Role.VIEWER}),
    ],
)
def test_a_role_covers_those_below_it(role: Role, may: set[Role]) -> None:
    person = Person(role=role)

    assert {wanted for wanted in Role if person.may(wanted)} == may


def test_a_view_keeps_its_role_under_the_decorators_of_django() -> None:
    from django.views.decorators.http import require_POST

    @require_POST
    @people.needs(Role.OWNER)
    def view(request: HttpRequest) -> HttpResponse:
        return HttpResponse()

    assert view.role_needed == Role.OWNER  # type: ignore[attr-defined]


@pytest.mark.parametrize("typed", ["wren", "Wren", "WREN", " wren ", "ｗｒｅｎ", "Ｗren"])
def test_one_person_has_one_spelling(typed: str) -> None:
    assert fold_username(typed) == "wren"


def test_a_person_is_found_under_any_spelling(owner: Person) -> None:
    assert Person.objects.get_by_natural_key("ＷREN ") == owner


def test_the_database_refuses_a_role_that_is_none(owner: Person) -> None:
    from django.db import IntegrityError

    with pytest.raises(IntegrityError):
        Person.objects.filter(pk=owner.pk).update(role="admin")


# ---- the first owner's code ---------------------------------------------------------------


@pytest.mark.django_db
def test_a_code_is_128_bits_in_groups_to_read_aloud() -> None:
    codes = {people.new_setup_code(now=NOW) for _ in range(20)}

    assert len(codes) == 20
    assert all(re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{8}){3}", code) for code in codes)


@pytest.mark.django_db
def test_the_code_itself_is_not_kept() -> None:
    code = people.new_setup_code(now=NOW)

    kept = str(SetupCode.objects.values().get())

    assert code not in kept
    assert code.replace("-", "") not in kept


@pytest.mark.django_db
@pytest.mark.parametrize(
    "spelling", [str, str.upper, lambda code: code.replace("-", " "), lambda code: f" {code}\n"]
)
def test_a_code_is_taken_as_people_write_it(spelling: "type[str]") -> None:
    code = people.new_setup_code(now=NOW)

    owner = people.make_first_owner(code=spelling(code), now=NOW, **WREN)

    assert owner.role == Role.OWNER
    assert owner.check_password(PASS_PHRASE)
    assert not SetupCode.objects.exists()


@pytest.mark.django_db
def test_a_code_works_once() -> None:
    code = people.new_setup_code(now=NOW)
    people.make_first_owner(code=code, now=NOW, **WREN)

    with pytest.raises(people.CodeRefused, match="has its first owner"):
        people.make_first_owner(code=code, now=NOW, **WREN | {"username": "ade"})
    assert Person.objects.count() == 1


@pytest.mark.django_db
def test_a_fresh_code_ends_the_one_before() -> None:
    first, second = (people.new_setup_code(now=NOW) for _ in range(2))

    with pytest.raises(people.CodeRefused, match="4 tries left"):
        people.make_first_owner(code=first, now=NOW, **WREN)
    assert people.make_first_owner(code=second, now=NOW, **WREN).username == "wren"


@pytest.mark.django_db
def test_five_wrong_codes_end_the_right_one_too() -> None:
    code = people.new_setup_code(now=NOW)
    for left in (4, 3, 2, 1, 0):
        with pytest.raises(people.CodeRefused, match=f"{left} tries left"):
            people.make_first_owner(code="0" * 32, now=NOW, **WREN)

    with pytest.raises(people.CodeRefused, match="used up or too old"):
        people.make_first_owner(code=code, now=NOW, **WREN)
    assert not Person.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(("minutes", "is_good"), [(0, True), (30, True), (31, False)])
def test_a_code_lasts_half_an_hour(minutes: int, is_good: bool) -> None:
    code = people.new_setup_code(now=NOW)
    later = NOW + timedelta(minutes=minutes)

    if is_good:
        assert people.make_first_owner(code=code, now=later, **WREN)
    else:
        with pytest.raises(people.CodeRefused, match="too old"):
            people.make_first_owner(code=code, now=later, **WREN)
    assert Person.objects.exists() is is_good


@pytest.mark.django_db
@pytest.mark.parametrize("code", ["", "-", "owner", "0" * 10_000])
def test_without_a_code_nothing_is_one(code: str) -> None:
    with pytest.raises(people.CodeRefused, match="Start Splitpin again"):
        people.make_first_owner(code=code, now=NOW, **WREN)


# ---- where a request comes from -----------------------------------------------------------

# How X-Forwarded-For grows: each proxy adds the address it was called from on the right
# (RFC 7239 section 5.2 and 7.4 say so of its successor, Forwarded).
FORWARDED = [
    (0, "", "10.0.0.9"),
    (0, "203.0.113.7", "10.0.0.9"),
    (1, "203.0.113.7", "203.0.113.7"),
    (1, "6.6.6.6, 203.0.113.7", "203.0.113.7"),
    (2, "6.6.6.6, 203.0.113.7, 192.0.2.1", "203.0.113.7"),
    (2, "203.0.113.7", "10.0.0.9"),
    (1, "2001:DB8::7", "2001:db8::7"),
    (1, "not an address", "10.0.0.9"),
    (1, "", "10.0.0.9"),
]


@pytest.mark.parametrize(("proxies", "forwarded", "address"), FORWARDED)
def test_only_our_own_proxies_say_where_a_request_comes_from(
    settings: Settings, proxies: int, forwarded: str, address: str
) -> None:
    settings.PROXIES = proxies
    request = RequestFactory().get(
        "/", REMOTE_ADDR="10.0.0.9", headers={"X-Forwarded-For": forwarded}
    )

    assert people.address_of(request) == address


def test_a_request_through_no_network_has_no_address() -> None:
    assert people.address_of(RequestFactory().get("/", REMOTE_ADDR="")) is None


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("failures", "minutes_ago", "is_spent"),
    [
        ([4, 4, 4, 4, 3], 0, False),
        ([4, 4, 4, 4, 4], 0, True),
        ([4, 4, 4, 4, 4], 14, True),
        ([4, 4, 4, 4, 4], 16, False),
        ([], 0, False),
    ],
)
def test_an_address_is_spent_after_twenty_failures_in_a_quarter_of_an_hour(
    failures: list[int], minutes_ago: int, is_spent: bool
) -> None:
    for number, count in enumerate(failures):
        attempt = AccessAttempt.objects.create(
            username=f"name{number}", ip_address="10.0.0.9", failures_since_start=count
        )
        AccessAttempt.objects.filter(pk=attempt.pk).update(
            attempt_time=NOW - timedelta(minutes=minutes_ago)
        )

    assert people.address_is_spent(address="10.0.0.9", now=NOW) is is_spent
    assert people.address_is_spent(address="10.0.0.10", now=NOW) is False


# ---- roles and locks ----------------------------------------------------------------------


def keep_session(person: Person, *, days: int = 14) -> str:
    session = SessionStore()
    session["_auth_user_id"] = str(person.pk)
    session.save()
    Session.objects.filter(pk=session.session_key).update(expire_date=NOW + timedelta(days=days))
    return session.session_key


def test_an_owner_may_go_when_another_one_stays(owner: Person) -> None:
    factories.make_person(username="ade", role=Role.OWNER)

    people.change_role(person=owner, role=Role.VIEWER, is_active=True, now=NOW)

    owner.refresh_from_db()
    assert owner.role == Role.VIEWER


@pytest.mark.parametrize(("role", "is_active"), [(Role.HELPER, True), (Role.OWNER, False)])
def test_the_last_owner_stays(owner: Person, helper: Person, role: Role, is_active: bool) -> None:
    factories.make_person(username="kit", role=Role.OWNER, is_active=False)
    owner.role, owner.is_active = role, is_active

    with pytest.raises(people.LastOwner, match="Somebody must own the garage"):
        people.change_role(person=owner, role=role, is_active=is_active, now=NOW)

    assert (owner.role, owner.is_active) == (Role.OWNER, True)
    owner.refresh_from_db()
    assert (owner.role, owner.is_active) == (Role.OWNER, True)


def test_locking_somebody_ends_their_sessions_and_nobody_elses(
    owner: Person, helper: Person
) -> None:
    keep_session(helper)
    mine = keep_session(owner)

    people.change_role(person=helper, role=Role.HELPER, is_active=False, now=NOW)

    assert list(Session.objects.values_list("pk", flat=True)) == [mine]


def test_another_role_ends_no_session(owner: Person, helper: Person) -> None:
    keep_session(helper)

    people.change_role(person=helper, role=Role.VIEWER, is_active=True, now=NOW)

    assert Session.objects.count() == 1


def test_ending_sessions_keeps_this_one_and_those_of_others(owner: Person, helper: Person) -> None:
    here, theirs = keep_session(owner), keep_session(helper)
    for _ in range(3):
        keep_session(owner)

    ended = people.end_sessions(person=owner, keep=here, now=NOW)

    assert ended == 3
    assert set(Session.objects.values_list("pk", flat=True)) == {here, theirs}


@pytest.mark.parametrize(("own_phone", "days"), [(False, 14), (True, 90)])
def test_a_phone_of_ones_own_is_trusted_longer(own_phone: bool, days: int) -> None:
    assert people.days_signed_in(own_phone=own_phone) == days
