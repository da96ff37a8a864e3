"""Log lines: one event, one line, whatever a stranger put into a path or a name."""

import json
import logging
from datetime import UTC, datetime


class OneLine(logging.Formatter):
    """Formats a record as one JSON line with a UTC time; control characters are escaped by JSON."""

    def format(self, record: logging.LogRecord) -> str:
        entry = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "from": record.name,
            "says": record.getMessage()[:2_000],
        }
        if record.exc_info:
            entry["trace"] = self.formatException(record.exc_info)
        return json.dumps(entry, ensure_ascii=True)
