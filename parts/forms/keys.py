"""What a form gets when its key was used before."""

from typing import cast
from uuid import uuid4

from django import forms
from django.http import QueryDict


def renew_key(form: forms.Form, said: str) -> None:
    """Says on the form what was saved under its key, and gives it a fresh one."""
    form.add_error(None, said)
    put(form, "key", str(uuid4()))


def put(form: forms.Form, name: str, value: str) -> None:
    """Sets one field of a form that was posted, to be shown again."""
    data = cast(QueryDict, form.data).copy()
    data[name] = value
    form.data = data
