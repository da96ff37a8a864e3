"""How the server runs: gunicorn reads this file as its configuration.

One process with four threads is plenty for a household, and keeps one writer at a time on
SQLite. Nothing is preloaded, so that every connection is opened by the process that uses it.
"""

from __future__ import annotations

import logging
import threading
from datetime import timedelta
from typing import Any

worker_class = "gthread"
workers = 1
threads = 4
preload_app = False
timeout = 60
graceful_timeout = 20
keepalive = 15
limit_request_line = 4094
limit_request_fields = 64
limit_request_field_size = 8190
accesslog = None
loglevel = "warning"
control_socket_disable = True
proc_name = "splitpin"

DAY_S = 24 * 60 * 60
QUARTER_S = 15 * 60
HOUR_S = 60 * 60
STILL_ARRIVING = timedelta(hours=1)  # a file this young may belong to a request in progress


def when_ready(server: Any) -> None:
    """Says where the garage is, once it really answers there."""
    for listener in server.LISTENERS:
        print(f"Splitpin is open at {listener}  (Ctrl-C closes it)", flush=True)


def post_worker_init(worker: Any) -> None:
    threading.Thread(target=sweep_daily, name="daily sweep", daemon=True).start()
    threading.Thread(target=back_up_daily, name="daily backup", daemon=True).start()
    threading.Thread(target=check_weekly, name="weekly check", daemon=True).start()


def sweep_daily(*, every_s: float = DAY_S) -> None:
    """Empties the bin and sweeps the photo store, again and again while the server runs."""
    # Django is set up in this process only after gunicorn has read this file.
    from django.conf import settings  # noqa: PLC0415
    from django.db import connection  # noqa: PLC0415
    from django.utils import timezone  # noqa: PLC0415

    from fabrication.bracket import brackets  # noqa: PLC0415
    from fabrication.pipe import pipes  # noqa: PLC0415
    from garage.health import trouble  # noqa: PLC0415
    from garage.management import checking  # noqa: PLC0415
    from garage.photos.sweeper import sweep  # noqa: PLC0415
    from parts import judging  # noqa: PLC0415

    log = logging.getLogger("splitpin.sweep")
    pause = threading.Event()
    while not pause.wait(every_s):
        if trouble.noted():
            continue
        try:
            judging.let_go(now=timezone.now())
            pipes.let_go(now=timezone.now())
            brackets.let_go(now=timezone.now())
            now = timezone.now()
            report = sweep(now=now, grace=STILL_ARRIVING)
            checking.keep_what_the_sweep_found(data=settings.SPLITPIN_DATA, report=report, now=now)
        except Exception as error:  # logged with its trace, and the thread lives on
            trouble.note(error)
            log.exception("the daily sweep failed; it runs again tomorrow")
        finally:
            connection.close()


def back_up_daily(*, every_s: float = QUARTER_S) -> None:
    """Looks again and again whether the last backup is a day old, and then makes one.

    Not once a night: a garage that is opened for two hours of an evening must have its own too.
    """
    # Django is set up in this process only after gunicorn has read this file.
    from django.conf import settings  # noqa: PLC0415
    from django.db import connection  # noqa: PLC0415
    from django.utils import timezone  # noqa: PLC0415

    from garage.backup.automatic import back_up_if_due  # noqa: PLC0415
    from garage.backup.contents import BackupRefused  # noqa: PLC0415
    from garage.health import trouble  # noqa: PLC0415
    from garage.management import opening  # noqa: PLC0415
    from garage.models import Person  # noqa: PLC0415

    log = logging.getLogger("splitpin.backup")
    pause = threading.Event()
    while connection.vendor == "sqlite" and not pause.wait(every_s):
        try:
            if Person.objects.exists():
                data = settings.SPLITPIN_DATA
                back_up_if_due(data=data, live=opening.sqlite_file(data), now=timezone.now())
        except BackupRefused as refused:
            log.error("no backup was made: %s", refused)
        except Exception as error:  # as above: a fault tonight must not end the year's backups
            trouble.note(error)
            log.exception("the daily backup failed; it is tried again")
        finally:
            connection.close()


def check_weekly(*, every_s: float = HOUR_S) -> None:
    """Looks every hour whether a week has gone since a quarter of the photos was last read."""
    # Django is set up in this process only after gunicorn has read this file.
    from django.conf import settings  # noqa: PLC0415
    from django.db import connection  # noqa: PLC0415
    from django.utils import timezone  # noqa: PLC0415

    from garage.health import trouble  # noqa: PLC0415
    from garage.management.checking import check_a_quarter_if_due  # noqa: PLC0415

    log = logging.getLogger("splitpin.health")
    pause = threading.Event()
    while not pause.wait(every_s):
        try:
            check_a_quarter_if_due(data=settings.SPLITPIN_DATA, now=timezone.now())
        except Exception as error:  # as above
            trouble.note(error)
            log.exception("the weekly check failed; it is tried again")
        finally:
            connection.close()
