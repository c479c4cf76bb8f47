-- A workshop's register. Logs and drive folders lie beside it as files; arrays that can be made again lie in cache/.

CREATE TABLE IF NOT EXISTS car (
    id      TEXT PRIMARY KEY,
    name    TEXT NOT NULL,
    profile TEXT NOT NULL,            -- the car.toml, as text
    saved   TEXT NOT NULL             -- UTC, ISO 8601
) STRICT;

CREATE TABLE IF NOT EXISTS drive (
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

CREATE TABLE IF NOT EXISTS result (
    id       TEXT PRIMARY KEY,        -- sha256 over drive, version, settings and input hashes
    drive    TEXT NOT NULL REFERENCES drive (id),
    version  TEXT NOT NULL,
    made     TEXT NOT NULL,
    document TEXT NOT NULL            -- the result document (JSON)
) STRICT;

CREATE INDEX IF NOT EXISTS result_of_drive ON result (drive);

CREATE TRIGGER IF NOT EXISTS result_is_never_edited BEFORE UPDATE ON result
BEGIN
    SELECT RAISE(ABORT, 'a result is never edited');
END;

CREATE TRIGGER IF NOT EXISTS result_is_never_removed BEFORE DELETE ON result
BEGIN
    SELECT RAISE(ABORT, 'a result is never removed');
END;

-- A car's visits. A change is another version; what was saved stays.
CREATE TABLE IF NOT EXISTS job_version (
    job      INTEGER NOT NULL,
    version  INTEGER NOT NULL,
    saved    TEXT NOT NULL,           -- UTC, ISO 8601
    by       TEXT NOT NULL,
    document TEXT NOT NULL,           -- the job (JSON)
    seal     TEXT NOT NULL,           -- sha256 over the seal of the version before, saved, by and document
    PRIMARY KEY (job, version)
) STRICT;

CREATE TRIGGER IF NOT EXISTS job_version_is_never_edited BEFORE UPDATE ON job_version
BEGIN
    SELECT RAISE(ABORT, 'a version of a job is never edited');
END;

CREATE TRIGGER IF NOT EXISTS job_version_is_never_removed BEFORE DELETE ON job_version
BEGIN
    SELECT RAISE(ABORT, 'a version of a job is never removed');
END;
