-- Schema 2: spools, and logs of others kept apart by their source.
ALTER TABLE prints ADD COLUMN spool TEXT NOT NULL DEFAULT '';
ALTER TABLE prints ADD COLUMN source TEXT NOT NULL DEFAULT 'own';
