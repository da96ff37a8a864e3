"""Who may come in. Owners only, but for ending one's own sessions."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from garage import people as verbs
from garage.forms.account import PersonWithRoleForm, RoleForm
from garage.http import go, page
from garage.models import Person, Role


@require_http_methods(["GET", "HEAD", "POST"])
@verbs.needs(Role.OWNER)
def people(request: HttpRequest) -> HttpResponse:
    form = PersonWithRoleForm(request.POST or None, person=request.user)
    if form.is_bound and form.is_valid():
        person = Person.objects.add(**form.cleaned_data)
        return go(request, "people", f"{person.name} may come in.")
    context = {"form": form, "people": Person.objects.all()}
    return page(request, "garage/people.html", context, code=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@verbs.needs(Role.OWNER)
def person(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(Person, pk=pk)
    form = RoleForm(request.POST or None, instance=person, person=request.user)
    if form.is_bound and form.is_valid():
        try:
            verbs.change_role(person=person, now=timezone.now(), **form.cleaned_data)
            return go(request, "people", f"{person.name} is changed.")
        except verbs.LastOwner as refused:
            form.add_error("role", str(refused))
    context = {"form": form, "person": person}
    return page(request, "garage/person.html", context, code=422 if form.errors else 200)


@require_POST
@verbs.needs(Role.VIEWER)
def sign_out_everywhere(request: HttpRequest) -> HttpResponse:
    """Ends every other session of this person: for a phone that was lost or sold."""
    keep = request.session.session_key
    ended = verbs.end_sessions(person=request.user, keep=keep, now=timezone.now())
    return go(request, "settings", f"{ended} other sign-ins ended.")
