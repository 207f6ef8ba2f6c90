"""The mark register's tables, how an older register is brought up to them, and the questions asked of them."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

__all__ = ["ANSWERS", "COUNTED", "LISTED", "MISSING", "SCHEMA", "UNLISTED", "prepare"]

#: The version of the tables below.
SCHEMA = 3

_TABLES = """
CREATE TABLE run (
    id INTEGER PRIMARY KEY, begun TEXT NOT NULL, labkit TEXT NOT NULL, isolation TEXT NOT NULL, seconds REAL NOT NULL
) STRICT;
CREATE TABLE learner (id TEXT PRIMARY KEY, class TEXT NOT NULL, pair TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE INDEX learner_in_pair ON learner (class, pair);
CREATE TABLE hand_in (
    id INTEGER PRIMARY KEY, run INTEGER NOT NULL REFERENCES run,
    path TEXT NOT NULL, digest TEXT NOT NULL, generation INTEGER NOT NULL, changed TEXT NOT NULL,
    learner TEXT NOT NULL, sheet TEXT NOT NULL, bank TEXT NOT NULL, late INTEGER NOT NULL, mark REAL NOT NULL,
    trouble TEXT NOT NULL, notes TEXT NOT NULL, share REAL NOT NULL DEFAULT 1,
    due TEXT, own_due INTEGER NOT NULL DEFAULT 0,
    UNIQUE (path, digest, generation)
) STRICT;
CREATE INDEX hand_in_of_learner ON hand_in (learner, sheet);
CREATE TABLE answer (
    hand_in INTEGER NOT NULL REFERENCES hand_in ON DELETE CASCADE, place INTEGER NOT NULL,
    asked TEXT NOT NULL, answer TEXT NOT NULL, mark REAL NOT NULL, out_of REAL NOT NULL, rule TEXT NOT NULL,
    question TEXT NOT NULL, outcome TEXT NOT NULL, comment TEXT NOT NULL, misconception TEXT, slip TEXT, lesson TEXT,
    hint TEXT NOT NULL, follows_through INTEGER NOT NULL,
    expected TEXT NOT NULL DEFAULT '', tries INTEGER NOT NULL DEFAULT 0, seconds INTEGER NOT NULL DEFAULT 0,
    attempt INTEGER NOT NULL DEFAULT 1, picture BLOB,
    PRIMARY KEY (hand_in, place)
) STRICT, WITHOUT ROWID;
CREATE TABLE correction (
    learner TEXT NOT NULL, sheet TEXT NOT NULL, question TEXT NOT NULL, mark REAL NOT NULL, reason TEXT NOT NULL,
    made TEXT NOT NULL, PRIMARY KEY (learner, sheet, question)
) STRICT, WITHOUT ROWID;
CREATE TABLE unread (path TEXT PRIMARY KEY, reason TEXT NOT NULL) STRICT, WITHOUT ROWID;
"""

#: What brings a register of each older version to the next.
_STEPS = {
    1: """
CREATE TABLE learner (id TEXT PRIMARY KEY, class TEXT NOT NULL, pair TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE INDEX learner_in_pair ON learner (class, pair);
ALTER TABLE hand_in ADD COLUMN share REAL NOT NULL DEFAULT 1;
ALTER TABLE answer ADD COLUMN expected TEXT NOT NULL DEFAULT '';
ALTER TABLE answer ADD COLUMN tries INTEGER NOT NULL DEFAULT 0;
ALTER TABLE answer ADD COLUMN seconds INTEGER NOT NULL DEFAULT 0;
""",
    2: """
ALTER TABLE answer ADD COLUMN attempt INTEGER NOT NULL DEFAULT 1;
ALTER TABLE answer ADD COLUMN picture BLOB;
ALTER TABLE hand_in ADD COLUMN due TEXT;
ALTER TABLE hand_in ADD COLUMN own_due INTEGER NOT NULL DEFAULT 0;
""",
}

#: The hand-in that counts for each member and sheet; a member's own, or that of somebody in the same pair.
COUNTED = """
WITH member AS (
    SELECT DISTINCT learner AS member, learner AS by FROM hand_in
    UNION
    SELECT one.id, other.id FROM learner AS one JOIN learner AS other
        ON one.class = other.class AND one.pair = other.pair AND one.pair <> '' AND one.id <> other.id
), latest AS (
    SELECT *, max(generation) OVER (PARTITION BY path, digest) AS newest FROM hand_in
), ranked AS (
    SELECT latest.*, member.member,
        count(*) OVER (PARTITION BY member, sheet) AS hand_ins,
        row_number() OVER (PARTITION BY member, sheet ORDER BY mark DESC, changed DESC, path DESC, id DESC) AS rank
    FROM latest JOIN member ON member.by = latest.learner WHERE generation = newest
)
SELECT ranked.*, run.begun, run.labkit, run.isolation, run.seconds AS allowed
FROM ranked JOIN run ON run.id = ranked.run
WHERE rank = 1 AND (:member = '' OR member = :member) ORDER BY member, sheet
"""

ANSWERS = """
SELECT answer.*, correction.mark AS corrected_mark, correction.reason AS corrected
FROM answer LEFT JOIN correction
    ON correction.learner = ? AND correction.sheet = ? AND correction.question = answer.question
WHERE hand_in = ? ORDER BY place
"""

#: Ids of the class list of whom nothing counts.
MISSING = """
SELECT one.id FROM learner AS one WHERE NOT EXISTS (
    SELECT 1 FROM hand_in WHERE learner = one.id
) AND NOT EXISTS (
    SELECT 1 FROM learner AS other JOIN hand_in ON hand_in.learner = other.id
    WHERE one.pair <> '' AND other.pair = one.pair AND other.class = one.class
) ORDER BY one.id
"""

#: Id and group of the class list, once something is marked.
LISTED = "SELECT id, class FROM learner WHERE EXISTS (SELECT 1 FROM hand_in)"

#: Ids of whom something is marked, and whom the class list does not have. A register of version 1 had none.
UNLISTED = """
SELECT DISTINCT learner FROM hand_in
WHERE learner NOT IN (SELECT id FROM learner) AND EXISTS (SELECT 1 FROM learner) ORDER BY learner
"""


def prepare(db: sqlite3.Connection) -> str:
    """Make the tables in an empty file, or bring an older register up to date; return why that cannot be, or nothing.

    The caller has begun a transaction: all of it is done, or nothing.
    """
    version = int(db.execute("PRAGMA user_version").fetchone()[0])
    empty = version == 0 and not db.execute("SELECT 1 FROM sqlite_schema").fetchone()
    if not empty and version not in {SCHEMA, *_STEPS}:
        later = "Mark with the later labkit that wrote it, or name" if version > SCHEMA else "Name"
        return f"is a mark register of version {version}; this labkit reads version {SCHEMA}. {later} another folder"
    steps = [_TABLES] if empty else [_STEPS[old] for old in range(version, SCHEMA)]
    for statement in _statements(steps):
        db.execute(statement)
    db.execute(f"PRAGMA user_version = {SCHEMA}")
    return ""


def _statements(steps: list[str]) -> Iterator[str]:
    return (statement for step in steps for statement in step.split(";") if statement.strip())
