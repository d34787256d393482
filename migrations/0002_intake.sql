-- What is known before the clinic: the intake, the rooms, the things to be seen, the two consents.

create table intake (
    student_id text primary key references student (id),
    referral_source text not null default '',
    referral_on text,
    referral_reason text not null default '',
    concerns text not null default '[]',
    eye_report_on text,
    eye_report_note text not null default '',
    glasses text not null default '',
    glasses_note text not null default '',
    other_aids text not null default '[]',
    medical_alerts text not null default '[]',
    medical_note text not null default '',
    other_needs text not null default '',
    plan_type text not null default '',
    service_minutes bigint,
    service_period text not null default '',
    near_distance_typed text not null default '',
    near_distance_m double precision,
    smallest_print_typed text not null default '',
    reads_up_close text not null default '' check (reads_up_close in ('', 'yes', 'some', 'no', 'not_known')),
    head_turn text not null default '',
    head_turn_degrees bigint,
    gaze_side text not null default '',
    tires_after_min bigint,
    mobility_note text not null default '',
    student_words text not null default '',
    steps_done text not null default '[]',
    released_at text,
    changed_at text not null,
    changed_by text not null references account (id),
    version bigint not null default 1
);

create table contact (
    id text primary key,
    student_id text not null references student (id),
    account_id text references account (id),
    name text not null,
    relation text not null default '',
    phone text not null default '',
    email text not null default '',
    language text not null default '',
    access_needs text not null default '',
    created_at text not null,
    created_by text not null references account (id),
    version bigint not null default 1
);
create index contact_student on contact (student_id);

-- A room with the usual seat in it. Distances are kept as typed beside the metres.
create table seat (
    id text primary key,
    student_id text not null references student (id),
    room text not null,
    distance_typed text not null,
    distance_m double precision not null,
    aside_typed text not null default '',
    aside_m double precision,
    aside_side text not null default '' check (aside_side in ('', 'left', 'right')),
    board_width_typed text not null default '',
    board_width_m double precision,
    illuminance_lux double precision,
    light text not null default '',
    glare text not null default '[]',
    note text not null default '',
    -- What is unusual about it and was confirmed.
    confirmed text not null default '',
    measured_on text,
    created_at text not null,
    created_by text not null references account (id),
    retired_at text,
    version bigint not null default 1
);
create index seat_student on seat (student_id);

create table visual_task (
    id text primary key,
    student_id text not null references student (id),
    seat_id text references seat (id),
    code text not null,
    name text not null,
    place text not null default '',
    track text not null check (track in ('distance', 'near')),
    goal text not null check (goal in ('name_it', 'phrase', 'copy')),
    distance_typed text not null default '',
    distance_m double precision,
    x_height_typed text not null default '',
    x_height_mm double precision,
    display text not null default '',
    marker text not null default '',
    light text not null default '',
    target_class text not null default 'words' check (target_class in ('words', 'letters', 'digits', 'pictures', 'choice')),
    choices bigint,
    measured bigint not null default 0 check (measured in (0, 1)),
    position bigint not null default 0,
    wanted_by text not null default '',
    created_at text not null,
    created_by text not null references account (id),
    retired_at text,
    version bigint not null default 1
);
create index visual_task_student on visual_task (student_id);

create table consent (
    id text primary key,
    student_id text not null references student (id),
    direction text not null check (direction in ('school_to_clinic', 'clinic_to_school')),
    categories text not null,
    purpose text not null,
    from_party text not null,
    to_party text not null,
    starts_on text not null,
    ends_on text not null,
    signer_account text references account (id),
    signer_name text not null,
    signer_relation text not null,
    how text not null check (how in ('on_screen', 'paper', 'in_person', 'emergency')),
    language text not null,
    witness text not null default '',
    attachment_id text,
    signed_at text not null,
    entered_by text not null references account (id),
    withdrawn_at text,
    withdrawn_by text references account (id)
);
create index consent_student on consent (student_id);
