-- Schema 1: prints, their observations, and the history of every change.
CREATE TABLE store (
    log_id TEXT PRIMARY KEY,
    made_at TEXT NOT NULL
) WITHOUT ROWID;

CREATE TABLE prints (
    id TEXT PRIMARY KEY,
    made_at TEXT NOT NULL,
    part TEXT NOT NULL,
    printer TEXT NOT NULL DEFAULT '',
    material TEXT NOT NULL,
    geometry TEXT NOT NULL DEFAULT '',
    sheet TEXT NOT NULL DEFAULT '{}',
    settings TEXT NOT NULL DEFAULT '{}',
    applied REAL,
    load_unit TEXT NOT NULL DEFAULT 'N',
    failure_low REAL,
    failure_typical REAL,
    failure_high REAL,
    test_low REAL,
    test_typical REAL,
    test_high REAL,
    governing TEXT NOT NULL DEFAULT '',
    stress_mpa REAL,
    mass_g REAL,
    time_min REAL,
    first_time_right REAL,
    knowledge_version TEXT NOT NULL DEFAULT '',
    model_version TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    voided INTEGER NOT NULL DEFAULT 0
);

CREATE TABLE observations (
    id TEXT PRIMARY KEY,
    print_id TEXT NOT NULL REFERENCES prints (id),
    entered_at TEXT NOT NULL,
    kind TEXT NOT NULL,
    feature TEXT,
    axis TEXT,
    first_layer INTEGER NOT NULL DEFAULT 0,
    nominal_mm REAL,
    nominal_assumed INTEGER NOT NULL DEFAULT 0,
    measured_mm REAL,
    load REAL,
    duration_s REAL,
    cycles INTEGER,
    hottest_c REAL,
    how TEXT,
    place TEXT,
    outcome TEXT,
    amount REAL,
    words TEXT NOT NULL DEFAULT '',
    multiple REAL,
    stress_mpa REAL,
    voided INTEGER NOT NULL DEFAULT 0
);

CREATE INDEX observations_of_print ON observations (print_id);

CREATE TABLE changes (
    id TEXT PRIMARY KEY,
    at TEXT NOT NULL,
    entry TEXT NOT NULL,
    action TEXT NOT NULL,
    before TEXT NOT NULL,
    after TEXT NOT NULL,
    reason TEXT NOT NULL
);

CREATE INDEX changes_of_entry ON changes (entry);

CREATE TRIGGER changes_stay_as_they_are BEFORE UPDATE ON changes
BEGIN SELECT RAISE(ABORT, 'history is never rewritten'); END;

CREATE TRIGGER changes_are_kept BEFORE DELETE ON changes
BEGIN SELECT RAISE(ABORT, 'history is never deleted'); END;

CREATE TRIGGER prints_are_kept BEFORE DELETE ON prints
BEGIN SELECT RAISE(ABORT, 'entries are voided, never deleted'); END;

CREATE TRIGGER observations_are_kept BEFORE DELETE ON observations
BEGIN SELECT RAISE(ABORT, 'entries are voided, never deleted'); END;
