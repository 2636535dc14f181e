-- The tables of the first version. One text for both databases: `ID_KEY` and
-- `BYTES` are put in by `schema.rs`. Times are Unix milliseconds. No DOUBLE PRECISION is ever NULL: sqlx 0.9
-- sends such a NULL as a 4-byte float, and PostgreSQL keeps that type for the statement.

CREATE TABLE counters (
    name TEXT PRIMARY KEY,
    last BIGINT NOT NULL
);
INSERT INTO counters (name, last) VALUES ('event', 0);

CREATE TABLE events (
    id ID_KEY,
    at_ms BIGINT NOT NULL,
    who TEXT NOT NULL,
    noun TEXT NOT NULL,
    what TEXT NOT NULL,
    deed TEXT NOT NULL,
    subject TEXT NOT NULL,
    before TEXT NOT NULL,
    after TEXT NOT NULL
);
CREATE INDEX events_of_subject ON events (noun, subject, id);

CREATE TABLE settings (
    name TEXT PRIMARY KEY,
    value TEXT NOT NULL,
    version BIGINT NOT NULL
);

CREATE TABLE users (
    id ID_KEY,
    name TEXT NOT NULL UNIQUE,
    role TEXT NOT NULL,
    password TEXT NOT NULL,
    units TEXT NOT NULL,
    created_at_ms BIGINT NOT NULL
);

CREATE TABLE sessions (
    token_sum TEXT PRIMARY KEY,
    user_id BIGINT NOT NULL REFERENCES users (id) ON DELETE CASCADE,
    created_at_ms BIGINT NOT NULL,
    expires_at_ms BIGINT NOT NULL
);
CREATE INDEX sessions_by_end ON sessions (expires_at_ms);
CREATE INDEX sessions_of_user ON sessions (user_id);

CREATE TABLE commissions (
    id ID_KEY,
    number BIGINT NOT NULL UNIQUE,
    customer TEXT NOT NULL,
    contact TEXT,
    state TEXT NOT NULL,
    brief TEXT NOT NULL,
    changed_at_ms BIGINT NOT NULL,
    version BIGINT NOT NULL
);

CREATE TABLE grade_rules (
    position BIGINT PRIMARY KEY,
    kind TEXT NOT NULL,
    name TEXT NOT NULL,
    measure TEXT NOT NULL,
    at_least DOUBLE PRECISION NOT NULL,
    below DOUBLE PRECISION NOT NULL
);

CREATE TABLE pieces (
    tag TEXT PRIMARY KEY,
    kind TEXT NOT NULL,
    number BIGINT NOT NULL,
    material TEXT NOT NULL,
    state TEXT NOT NULL,
    place TEXT NOT NULL,
    grade TEXT,
    long_mm DOUBLE PRECISION NOT NULL,
    mid_mm DOUBLE PRECISION NOT NULL,
    short_mm DOUBLE PRECISION NOT NULL,
    laid_width_mm DOUBLE PRECISION NOT NULL,
    laid_depth_mm DOUBLE PRECISION NOT NULL,
    laid_height_mm DOUBLE PRECISION NOT NULL,
    mass_kg DOUBLE PRECISION NOT NULL,
    mass_certainty TEXT NOT NULL,
    density_kg_m3 DOUBLE PRECISION NOT NULL,
    friction DOUBLE PRECISION NOT NULL,
    price_minor BIGINT,
    price_currency TEXT,
    colour TEXT NOT NULL,
    notes TEXT NOT NULL,
    search TEXT NOT NULL,
    scan_object TEXT,
    shape_object TEXT,
    picture_object TEXT,
    hold_commission BIGINT REFERENCES commissions (id),
    hold_until_ms BIGINT,
    hold_from TEXT,
    received_at_ms BIGINT NOT NULL,
    changed_at_ms BIGINT NOT NULL,
    version BIGINT NOT NULL,
    UNIQUE (kind, number)
);
CREATE INDEX pieces_by_long ON pieces (long_mm, kind, number);
CREATE INDEX pieces_by_mass ON pieces (mass_kg, kind, number);
CREATE INDEX pieces_by_price ON pieces ((price_minor IS NULL), price_minor, kind, number);
CREATE INDEX pieces_by_age ON pieces (received_at_ms, kind, number);
CREATE INDEX pieces_by_material ON pieces (material, kind, number);
CREATE INDEX pieces_by_state ON pieces (state, kind, number);
CREATE INDEX pieces_by_place ON pieces (place, kind, number);
CREATE INDEX pieces_by_grade ON pieces (grade, kind, number);
CREATE INDEX pieces_by_hold ON pieces (hold_until_ms);

-- What a list doesn't need is kept apart, so that the rows above stay small.
CREATE TABLE piece_outlines (
    tag TEXT PRIMARY KEY REFERENCES pieces (tag) ON DELETE CASCADE,
    outline TEXT NOT NULL
);
CREATE TABLE piece_measures (
    tag TEXT PRIMARY KEY REFERENCES pieces (tag) ON DELETE CASCADE,
    measure TEXT NOT NULL
);
CREATE TABLE piece_fits (
    tag TEXT PRIMARY KEY REFERENCES pieces (tag) ON DELETE CASCADE,
    fit BYTES NOT NULL
);

CREATE TABLE photographs (
    id ID_KEY,
    tag TEXT NOT NULL REFERENCES pieces (tag) ON DELETE CASCADE,
    name TEXT NOT NULL,
    object TEXT NOT NULL,
    size_bytes BIGINT NOT NULL
);
CREATE INDEX photographs_of_piece ON photographs (tag, id);

CREATE TABLE lots (
    id ID_KEY,
    kind TEXT NOT NULL,
    material TEXT NOT NULL,
    grade TEXT NOT NULL,
    mass_kg DOUBLE PRECISION NOT NULL,
    price_minor BIGINT,
    price_currency TEXT,
    place TEXT NOT NULL,
    version BIGINT NOT NULL
);

CREATE TABLE layouts (
    id ID_KEY,
    title TEXT NOT NULL,
    commission BIGINT REFERENCES commissions (id),
    step BIGINT NOT NULL,
    n_pieces BIGINT NOT NULL,
    stands BIGINT,
    picture_object TEXT,
    changed_at_ms BIGINT NOT NULL,
    version BIGINT NOT NULL
);
CREATE INDEX layouts_by_change ON layouts (changed_at_ms);
CREATE INDEX layouts_of_commission ON layouts (commission);

CREATE TABLE layout_steps (
    layout BIGINT NOT NULL REFERENCES layouts (id) ON DELETE CASCADE,
    number BIGINT NOT NULL,
    label TEXT NOT NULL,
    composition TEXT NOT NULL,
    PRIMARY KEY (layout, number)
);

CREATE TABLE layout_pieces (
    layout BIGINT NOT NULL REFERENCES layouts (id) ON DELETE CASCADE,
    tag TEXT NOT NULL,
    PRIMARY KEY (layout, tag)
);
CREATE INDEX layouts_of_piece ON layout_pieces (tag, layout);

CREATE TABLE revisions (
    layout BIGINT NOT NULL REFERENCES layouts (id) ON DELETE CASCADE,
    number BIGINT NOT NULL,
    note TEXT NOT NULL,
    composition TEXT NOT NULL,
    version BIGINT NOT NULL,
    who TEXT NOT NULL,
    at_ms BIGINT NOT NULL,
    picture_object TEXT,
    PRIMARY KEY (layout, number)
);

CREATE TABLE uploads (
    id ID_KEY,
    name TEXT NOT NULL,
    kind TEXT NOT NULL,
    object TEXT NOT NULL,
    size_bytes BIGINT NOT NULL,
    who TEXT NOT NULL,
    at_ms BIGINT NOT NULL
);

CREATE TABLE jobs (
    id ID_KEY,
    kind TEXT NOT NULL,
    state TEXT NOT NULL,
    subject TEXT NOT NULL,
    input TEXT NOT NULL,
    progress DOUBLE PRECISION NOT NULL,
    step TEXT NOT NULL,
    result TEXT,
    error TEXT,
    cancel_wished BIGINT NOT NULL,
    worker TEXT,
    heartbeat_at_ms BIGINT,
    attempts BIGINT NOT NULL,
    who TEXT NOT NULL,
    created_at_ms BIGINT NOT NULL,
    changed_at_ms BIGINT NOT NULL
);
CREATE INDEX jobs_by_state ON jobs (state, id);
