-- Schema 3: counts per class, so that learning from a million rows reads a few thousand.
-- topic and the two classes are functions of the row itself (recommender.log.classes).
ALTER TABLE observations ADD COLUMN topic TEXT;
ALTER TABLE observations ADD COLUMN class TEXT NOT NULL DEFAULT '';
ALTER TABLE observations ADD COLUMN nominal_class INTEGER NOT NULL DEFAULT 0;
ALTER TABLE observations ADD COLUMN value_class INTEGER NOT NULL DEFAULT 0;
ALTER TABLE observations ADD COLUMN spoils INTEGER NOT NULL DEFAULT 0;

CREATE TABLE groups (
    id INTEGER PRIMARY KEY,
    source TEXT NOT NULL,
    printer TEXT NOT NULL,
    material TEXT NOT NULL,
    spool TEXT NOT NULL,
    UNIQUE (source, printer, material, spool)
);

-- Two groups to a print: with its spool (strength), and over all spools (time, mass, size, success).
ALTER TABLE prints ADD COLUMN group_id INTEGER REFERENCES groups (id);
ALTER TABLE prints ADD COLUMN pool_id INTEGER REFERENCES groups (id);
ALTER TABLE prints ADD COLUMN states TEXT NOT NULL DEFAULT '{}';
INSERT INTO groups (source, printer, material, spool)
    SELECT source, printer, material, spool FROM prints
    UNION SELECT source, printer, material, '' FROM prints;
UPDATE prints SET pool_id = (
    SELECT g.id FROM groups AS g
    WHERE g.source = prints.source AND g.printer = prints.printer
        AND g.material = prints.material AND g.spool = ''
);
UPDATE prints SET group_id = (
    SELECT g.id FROM groups AS g
    WHERE g.source = prints.source AND g.printer = prints.printer
        AND g.material = prints.material AND g.spool = prints.spool
);
CREATE INDEX prints_of_group ON prints (group_id, made_at);
CREATE INDEX prints_of_pool ON prints (pool_id, made_at);
CREATE INDEX prints_by_time ON prints (made_at);

-- Far-off entries are found by their class.
CREATE INDEX observations_by_value ON observations (topic, value_class) WHERE topic IS NOT NULL;

CREATE TABLE summary (
    topic TEXT NOT NULL,
    group_id INTEGER NOT NULL REFERENCES groups (id),
    class TEXT NOT NULL,
    nominal_class INTEGER NOT NULL,
    value_class INTEGER NOT NULL,
    count INTEGER NOT NULL CHECK (count > 0),
    PRIMARY KEY (topic, group_id, class, nominal_class, value_class)
) WITHOUT ROWID;
