"""What the figures were measured on: a ratio travels better than a time, and still not everywhere."""

from __future__ import annotations

import os
import platform
from pathlib import Path

from django.db import connection


def description() -> str:
    """Return a line: cores, processor, Python, engine and how durable its commits are."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    load = ", ".join(f"{each:.1f}" for each in os.getloadavg())
    python = f"{platform.python_implementation()} {platform.python_version()}"
    return f"{cores} cores ({_processor()}), {platform.system()}, {python}, {_engine()}; load {load}"


def _processor() -> str:
    """Return the processor's name; where the system does not tell it in a file, what Python knows."""
    info = Path("/proc/cpuinfo")
    lines = info.read_text(encoding="utf-8").splitlines() if info.exists() else []
    names = (line.partition(":")[2].strip() for line in lines if line.startswith("model name"))
    return next(names, platform.processor() or platform.machine())


def _engine() -> str:
    if connection.vendor == "sqlite":
        return f"SQLite {_shown('SELECT sqlite_version()')}, synchronous {_shown('PRAGMA synchronous')}"
    durable = ", ".join(f"{name} {_shown(f'SHOW {name}')}" for name in ("fsync", "synchronous_commit"))
    return f"PostgreSQL {_shown('SHOW server_version')}, {durable}"


def _shown(query: str) -> str:
    with connection.cursor() as cursor:
        cursor.execute(query)
        return str(cursor.fetchone()[0])
