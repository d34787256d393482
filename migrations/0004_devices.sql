-- The loan pool, loans, the student's own device, readiness and training.

create table device (
    id text primary key,
    tag text not null unique,
    owner text not null,
    kind text not null,
    power double precision,
    objective_mm double precision,
    field_deg double precision,
    near_focus_typed text not null default '',
    near_focus_m double precision,
    reading_cap_d double precision,
    equivalent_power_d double precision,
    lens_mm double precision,
    stand_height_mm double precision,
    label text not null default '',
    light text not null default '',
    over_glasses text not null default '',
    eye text not null default 'either',
    filter text not null default '',
    weight_g bigint,
    strap bigint not null default 0 check (strap in (0, 1)),
    carry_case bigint not null default 0 check (carry_case in (0, 1)),
    condition text not null,
    cleaned_on text,
    note text not null default '',
    confirmed text not null default '',
    created_at text not null,
    created_by text not null references account (id),
    retired_at text,
    version bigint not null default 1
);

create table loan (
    id text primary key,
    student_id text not null references student (id),
    device_id text not null references device (id),
    track text not null check (track in ('distance', 'near')),
    evidence_kind text not null check (evidence_kind in ('evaluation', 'decision')),
    evidence_id text not null,
    eye text not null default 'either',
    lent_on text not null,
    due_on text not null,
    returned_on text,
    condition_out text not null,
    condition_in text not null default '',
    strap bigint not null default 0 check (strap in (0, 1)),
    carry_case bigint not null default 0 check (carry_case in (0, 1)),
    home_use bigint not null default 0 check (home_use in (0, 1)),
    agreement_by text not null default '',
    held_by text not null default '',
    purpose text not null,
    warnings text not null default '',
    entered_at text not null,
    entered_by text not null references account (id),
    version bigint not null default 1
);
create index loan_student on loan (student_id);
-- One open loan per device, held by the database itself.
create unique index loan_open on loan (device_id) where returned_on is null;

create table own_device (
    id text primary key,
    student_id text not null references student (id),
    prescription_id text,
    spec_id text not null references device_spec (id),
    track text not null check (track in ('distance', 'near')),
    tag text not null default '',
    received_on text not null,
    received_by text not null default '',
    condition text not null,
    matches bigint not null check (matches in (0, 1)),
    differs text not null default '',
    verdict text check (verdict in ('accepted', 'refused')),
    settled_at text,
    settled_by text references account (id),
    entered_at text not null,
    entered_by text not null references account (id),
    entered_in_error_at text
);
create index own_device_student on own_device (student_id);

create table repair (
    id text primary key,
    student_id text not null references student (id),
    own_device_id text not null references own_device (id),
    from_on text not null,
    back_on text,
    reason text not null,
    entered_at text not null,
    entered_by text not null references account (id)
);
create index repair_student on repair (student_id);

-- A clinician's leave to lend a device that does not match the recommendation.
create table loan_allowance (
    id text primary key,
    student_id text not null references student (id),
    track text not null check (track in ('distance', 'near')),
    device_id text not null references device (id),
    under_kind text not null check (under_kind in ('evaluation', 'decision')),
    under_id text not null,
    reason text not null,
    at text not null,
    account_id text not null references account (id)
);
create index loan_allowance_student on loan_allowance (student_id);

create table readiness (
    id text primary key,
    student_id text not null references student (id),
    track text not null check (track in ('distance', 'near')),
    items text not null,
    agreed_words text not null default '',
    passed_item text not null default '',
    passed_reason text not null default '',
    evidence_kind text,
    evidence_id text,
    signed_at text,
    signed_by text references account (id),
    changed_at text not null,
    changed_by text not null references account (id),
    version bigint not null default 1
);
create unique index readiness_track on readiness (student_id, track);

create table training_session (
    id text primary key,
    student_id text not null references student (id),
    track text not null check (track in ('distance', 'near')),
    loan_id text references loan (id),
    own_device_id text references own_device (id),
    baseline bigint not null default 0 check (baseline in (0, 1)),
    held_on text not null,
    minutes bigint not null,
    place text not null,
    light text not null default '',
    body_position text not null default '',
    glasses text not null default '',
    comfort text not null default '',
    symptoms text not null default '[]',
    refused bigint not null default 0 check (refused in (0, 1)),
    refused_reason text not null default '',
    order_reason text not null default '',
    materials text not null default '',
    note text not null default '',
    evidence_kind text,
    evidence_id text,
    readiness_id text references readiness (id),
    entered_at text not null,
    entered_by text not null references account (id),
    state text not null default 'entered' check (state in ('entered', 'entered_in_error')),
    version bigint not null default 1
);
create index training_session_student on training_session (student_id, held_on);

create table exercise (
    id text primary key,
    session_id text not null references training_session (id) on delete cascade,
    student_id text not null references student (id),
    position bigint not null,
    skill text not null,
    item text not null default '',
    visual_task_id text references visual_task (id),
    tries bigint,
    correct bigint,
    median_s double precision,
    seconds_in_view double precision,
    seconds_shown double precision,
    losses bigint,
    distance_typed text not null default '',
    distance_m double precision,
    x_height_typed text not null default '',
    x_height_mm double precision,
    prompt_level bigint,
    prompt_count bigint,
    self_corrected bigint not null default 0 check (self_corrected in (0, 1)),
    note text not null default ''
);
create index exercise_session on exercise (session_id);
create index exercise_student on exercise (student_id);
