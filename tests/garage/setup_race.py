"""Two people post the setup form at the same moment; run as a program, on a database file.

The tests' own SQLite database lives in memory, where two threads share one cache and meet locks
that a file does not have. So there this runs in a process of its own; on PostgreSQL, in the test.
"""

import json
import sys
import threading

from django.db import connection
from django.test import Client
from django.utils import timezone

FORM = {
    "name": "Wren",
    "password": "a spare half shaft in the loft",
    "garage_name": "Lock Lane garage",
    "time_zone": "Europe/London",
}


def race() -> dict[str, list]:
    """The status of both answers, and the sign-in names of the owners there are afterwards."""
    from garage.models import Person
    from garage.people import new_setup_code

    form = FORM | {"code": new_setup_code(now=timezone.now())}
    answers: list[int] = []
    both_ready = threading.Barrier(2, timeout=20)

    def post(username: str) -> None:
        client = Client(raise_request_exception=False)
        both_ready.wait()
        try:
            answer = client.post("/setup/", form | {"username": username}, HTTP_HOST="localhost")
            answers.append(answer.status_code)
        finally:
            connection.close()

    threads = [threading.Thread(target=post, args=[name]) for name in ("wren", "ade")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return {"answers": sorted(answers), "owners": [p.username for p in Person.objects.all()]}


if __name__ == "__main__":
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0)
    json.dump(race(), sys.stdout)
