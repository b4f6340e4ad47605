-- One run, one file. Times are seconds since the run began, monotonic, unless the name says wall.
-- Temperatures in degC, carbon in mass percent, lengths in mm. NULL: no number, never a guess.
-- low, mid, high: 10 %, member 0 (the central estimate), 90 %.
-- The loop alone writes while it runs; later only notes are added. Changes to this file need a step in upgrade.py.
PRAGMA application_id = 1936679275;  -- the letters "soak"
PRAGMA user_version = 1;

-- The inputs, exactly one row: with these and the readings the run can be computed again.
CREATE TABLE run (
  id       INTEGER PRIMARY KEY CHECK (id = 1),
  soak     TEXT NOT NULL,  -- version that wrote the file
  kind     TEXT NOT NULL,  -- run | dry-run | predict
  started  TEXT NOT NULL,  -- wall clock, UTC, ISO 8601
  job      TEXT NOT NULL,
  title    TEXT NOT NULL,
  job_text TEXT NOT NULL,  -- the job as written
  profiles TEXT NOT NULL,  -- JSON: the profiles used, by "kind/name"
  plan     TEXT NOT NULL,  -- JSON: segments, ceiling and what was predicted
  draws    TEXT NOT NULL,  -- JSON: what is not known: names, members, values
  link     TEXT            -- JSON: port, address, hash of the register map; NULL: no controller
) STRICT;

-- The temperature trace: every poll.
CREATE TABLE reading (
  time_s      REAL NOT NULL,
  setpoint_c  REAL,
  oven_c      REAL,
  output_pct  REAL,
  charge_c    REAL,
  sensor_open INTEGER NOT NULL DEFAULT 0,
  pack_c      REAL
) STRICT;

-- The carbon trace: one row a piece and estimate.
CREATE TABLE prediction (
  time_s REAL NOT NULL,
  piece  TEXT NOT NULL,
  mean_carbon_pct_low    REAL, mean_carbon_pct_mid    REAL, mean_carbon_pct_high    REAL,
  surface_carbon_pct_low REAL, surface_carbon_pct_mid REAL, surface_carbon_pct_high REAL,
  centre_carbon_pct_low  REAL, centre_carbon_pct_mid  REAL, centre_carbon_pct_high  REAL,
  case_depth_mm_low      REAL, case_depth_mm_mid      REAL, case_depth_mm_high      REAL
) STRICT;

-- What all pieces share, at the same times: the charge's temperatures, the canister's wall, the gas.
CREATE TABLE charge (
  time_s REAL NOT NULL,
  core_c REAL,
  wall_c REAL,
  wall_left_mm_low REAL, wall_left_mm_mid REAL, wall_left_mm_high REAL,
  pco_mid REAL  -- share of CO in the gas, 0 to 1
) STRICT;

CREATE TABLE event (
  id       INTEGER PRIMARY KEY,
  time_s   REAL NOT NULL,
  code     TEXT NOT NULL,
  severity TEXT NOT NULL,  -- info | warning | alarm | trip
  text     TEXT NOT NULL
) STRICT;

-- Written before acting; the result is filled in after the read-back. No result: it never came.
CREATE TABLE action (
  id            INTEGER PRIMARY KEY,
  time_s        REAL NOT NULL,
  action        TEXT NOT NULL,
  value         REAL,
  result_time_s REAL,
  outcome       TEXT
) STRICT;

-- What people saw, weighed, opened, assayed: during the run or months later.
CREATE TABLE note (
  id     INTEGER PRIMARY KEY,
  uid    TEXT NOT NULL UNIQUE,  -- the same note sent twice is kept once
  wall   TEXT NOT NULL,         -- wall clock, UTC, ISO 8601
  time_s REAL,
  kind   TEXT NOT NULL,
  "values" TEXT NOT NULL,       -- JSON
  text   TEXT NOT NULL
) STRICT;

-- Carbon against depth at the end.
CREATE TABLE profile_final (
  piece    TEXT NOT NULL,
  depth_mm REAL NOT NULL,
  carbon_pct_low REAL, carbon_pct_mid REAL, carbon_pct_high REAL
) STRICT;

-- The last word, at most one row. None: the run still runs, or died.
CREATE TABLE closing (
  id      INTEGER PRIMARY KEY CHECK (id = 1),
  time_s  REAL NOT NULL,
  ended   TEXT NOT NULL,  -- complete | tripped | stopped | interrupted
  summary TEXT NOT NULL   -- JSON, as shown to people
) STRICT;
