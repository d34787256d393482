-- The clinic's findings: what was asked, what was measured, what is recommended, and where it was sent.

create table evaluation_request (
    id text primary key,
    student_id text not null references student (id),
    question text not null,
    urgency text not null default '',
    requested_on text not null,
    appointment_on text,
    entered_at text not null,
    entered_by text not null references account (id),
    withdrawn_at text,
    version bigint not null default 1
);
create index evaluation_request_student on evaluation_request (student_id);

create table evaluation (
    id text primary key,
    student_id text not null references student (id),
    source text not null check (source in ('clinician', 'transcribed')),
    state text not null check (state in ('draft', 'signed', 'filed', 'confirmed', 'entered_in_error')),
    examined_on text,
    examiner_account text references account (id),
    examiner_name text not null default '',
    place text not null default '',
    diagnosis text not null default '',
    course text not null default '',
    contrast_typed text not null default '',
    contrast_log double precision,
    contrast_eye text not null default '',
    contrast_method text not null default '',
    field_method text not null default '',
    field_pattern text not null default '[]',
    field_note text not null default '',
    field_right_deg double precision,
    field_right_vertical_deg double precision,
    field_left_deg double precision,
    field_left_vertical_deg double precision,
    field_both_deg double precision,
    field_both_vertical_deg double precision,
    colour text not null default '',
    glare_indoor bigint,
    glare_outdoor bigint,
    filter_note text not null default '',
    filter_transmission bigint,
    alignment text not null default '',
    alignment_note text not null default '',
    nystagmus text not null default '',
    nystagmus_onset text not null default '',
    best_gaze text not null default '',
    best_gaze_deg bigint,
    preferred_eye text not null default '',
    pupil_mm double precision,
    accommodation_d double precision,
    lighting_advice text not null default '',
    lighting_lux bigint,
    seating_advice text not null default '',
    other_advice text not null default '[]',
    other_advice_note text not null default '',
    next_due_on text,
    report_clinician text not null default '',
    attachment_id text,
    not_stated text not null default '[]',
    supersedes_id text references evaluation (id),
    created_at text not null,
    created_by text not null references account (id),
    signed_at text,
    signed_by text references account (id),
    confirmed_at text,
    confirmed_by text references account (id),
    version bigint not null default 1
);
create index evaluation_student on evaluation (student_id);

-- One acuity row: eye, correction, distance and notation, or it is not one.
create table acuity (
    id text primary key,
    evaluation_id text not null references evaluation (id) on delete cascade,
    student_id text not null references student (id),
    position bigint not null,
    eye text not null check (eye in ('right', 'left', 'both')),
    correction text not null,
    distance_typed text not null,
    distance_m double precision,
    notation text not null,
    as_recorded text not null,
    logmar double precision,
    category text,
    target text not null default '',
    effort text not null default '',
    light text not null default '',
    device_kind text,
    device_power double precision,
    device_equivalent_d double precision,
    -- The rows of a letter chart that a count refers to, as JSON; null where none was needed.
    chart text,
    note text not null default '',
    confirmed text not null default ''
);
create index acuity_evaluation on acuity (evaluation_id);

create table refraction (
    evaluation_id text not null references evaluation (id) on delete cascade,
    student_id text not null references student (id),
    eye text not null check (eye in ('right', 'left')),
    sphere_d double precision,
    cylinder_d double precision,
    axis_deg bigint,
    add_d double precision,
    prism_d double precision,
    prism_base text not null default '',
    method text not null default '',
    typed text not null default '',
    confirmed text not null default '',
    primary key (evaluation_id, eye)
);

-- What an evaluation says about one track.
create table track_answer (
    evaluation_id text not null references evaluation (id) on delete cascade,
    student_id text not null references student (id),
    track text not null check (track in ('distance', 'near')),
    answer text not null check (answer in ('devices', 'keep_own_device', 'none', 'not_looked_at')),
    safe text not null check (safe in ('yes', 'with_limits', 'no', 'not_stated')),
    limits text not null default '',
    training_tasks text not null default '',
    primary key (evaluation_id, track)
);

-- A device by specification, wherever one is named: recommended, decided, prescribed, received.
create table device_spec (
    id text primary key,
    student_id text not null references student (id),
    owner_kind text not null check (owner_kind in ('evaluation', 'decision', 'summary', 'prescription', 'own_device')),
    owner_id text not null,
    track text not null check (track in ('distance', 'near')),
    position bigint not null default 0,
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
    eye text not null default '',
    filter text not null default '',
    purpose text not null default '',
    limits text not null default '',
    note text not null default '',
    confirmed text not null default ''
);
create index device_spec_owner on device_spec (owner_kind, owner_id);
create index device_spec_student on device_spec (student_id);

-- What went to the other side, under which consent. A sent document stays readable as sent.
create table sending (
    id text primary key,
    student_id text not null references student (id),
    category text not null,
    document_kind text not null check (document_kind in ('evaluation', 'decision', 'prescription', 'summary')),
    document_id text not null,
    to_side text not null check (to_side in ('school', 'clinic')),
    consent_id text not null references consent (id),
    at text not null,
    unique (document_kind, document_id, to_side)
);
create index sending_student on sending (student_id);

-- Nothing is overwritten: what a signed or locked record said before and after, by whom and why.
create table amendment (
    id text primary key,
    student_id text not null references student (id),
    resource text not null,
    record_id text not null,
    field text not null,
    before_text text not null,
    after_text text not null,
    reason text not null,
    at text not null,
    account_id text not null references account (id)
);
create index amendment_record on amendment (resource, record_id);
