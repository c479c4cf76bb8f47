-- A workshop's register. Logs and drive folders lie beside it as files; arrays that can be made again lie in cache/.

CREATE TABLE car (
    id      TEXT PRIMARY KEY,
    name    TEXT NOT NULL,
    profile TEXT NOT NULL,            -- the car.toml, as text
    saved   TEXT NOT NULL             -- UTC, ISO 8601
) STRICT;

CREATE TABLE drive (
    id      TEXT PRIMARY KEY,
    logs    TEXT NOT NULL UNIQUE,     -- sha256 over the sha256 of its logs: the same logs are the same drive
    name    TEXT NOT NULL,
    car     TEXT NOT NULL,
    stage   TEXT,
    driver  TEXT,
    started TEXT,
    notes   TEXT,
    folder  TEXT NOT NULL,            -- below the workshop folder, with forward slashes
    added   TEXT NOT NULL,
    shown   TEXT REFERENCES result (id)   -- the result last saved for it
) STRICT;

CREATE TABLE result (
    id       TEXT PRIMARY KEY,        -- sha256 over drive, version, settings and input hashes
    drive    TEXT NOT NULL REFERENCES drive (id),
    version  TEXT NOT NULL,
    made     TEXT NOT NULL,
    document TEXT NOT NULL            -- the result document (JSON)
) STRICT;

CREATE INDEX result_of_drive ON result (drive);

CREATE TRIGGER result_is_never_edited BEFORE UPDATE ON result
BEGIN
    SELECT RAISE(ABORT, 'a result is never edited');
END;

CREATE TRIGGER result_is_never_removed BEFORE DELETE ON result
BEGIN
    SELECT RAISE(ABORT, 'a result is never removed');
END;
