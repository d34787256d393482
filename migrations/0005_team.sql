-- What the team sees and says: observations, the thread, the classroom card, safety.

create table observation (
    id text primary key,
    student_id text not null references student (id),
    setting text not null check (setting in ('classroom', 'home', 'community', 'training')),
    seen_on text not null,
    informant text not null default '',
    visual_task_id text references visual_task (id),
    what text not null default '',
    place text not null default '',
    loan_id text references loan (id),
    own_device_id text references own_device (id),
    device_out text not null default '',
    non_use_reason text not null default '',
    glasses text not null default '',
    distance_typed text not null default '',
    distance_m double precision,
    distance_from_task bigint not null default 0 check (distance_from_task in (0, 1)),
    distance_band text not null default '',
    x_height_typed text not null default '',
    x_height_mm double precision,
    x_height_from_task bigint not null default 0 check (x_height_from_task in (0, 1)),
    contrast text not null default '',
    target_class text not null default '',
    choices bigint,
    correct bigint,
    tried bigint,
    graded text not null default '',
    help text not null default '',
    pace text not null default '',
    comfort text not null default '',
    mood text not null default '',
    minutes_before_tired text not null default '',
    suggested_by text not null default '',
    language text not null default 'en',
    note text not null default '',
    shared_with_class bigint not null default 0 check (shared_with_class in (0, 1)),
    entered_at text not null,
    entered_by text not null references account (id),
    state text not null default 'entered' check (state in ('entered', 'entered_in_error')),
    version bigint not null default 1
);
create index observation_student on observation (student_id, seen_on);

create table post (
    id text primary key,
    student_id text not null references student (id),
    kind text not null check (kind in ('note', 'question', 'answer')),
    to_role text not null default '',
    answers_id text references post (id),
    body text not null,
    at text not null,
    account_id text not null references account (id),
    acting_role text not null,
    closed_at text,
    state text not null default 'entered' check (state in ('entered', 'entered_in_error')),
    version bigint not null default 1
);
create index post_student on post (student_id, at);

create table thread_read (
    student_id text not null references student (id),
    account_id text not null references account (id),
    read_at text not null,
    primary key (student_id, account_id)
);

create table card (
    id text primary key,
    student_id text not null references student (id),
    edition bigint not null,
    state text not null check (state in ('draft', 'released')),
    seat text not null default '',
    board text not null default '',
    letters text not null default '',
    light text not null default '',
    print_size text not null default '',
    device text not null default '',
    device_when text not null default '',
    glasses text not null default '',
    head_turn text not null default '',
    rest text not null default '',
    tests text not null default '',
    call text not null default '',
    extra_care bigint not null default 0 check (extra_care in (0, 1)),
    review_on text,
    -- The figures behind the card, frozen at release: seat_m, letter_mm, with_device_seat_m, with_device_letter_mm as JSON.
    figures text not null default '{}',
    try_at_home text not null default '',
    changed_at text not null,
    changed_by text not null references account (id),
    released_at text,
    released_by text references account (id),
    version bigint not null default 1
);
create unique index card_edition on card (student_id, edition);

create table flag (
    id text primary key,
    student_id text not null references student (id),
    kind text not null,
    noticed_on text not null,
    note text not null default '',
    raised_at text not null,
    raised_by text not null references account (id),
    cleared_at text,
    cleared_by text references account (id),
    cleared_note text not null default ''
);
create index flag_student on flag (student_id);

create table flag_seen (
    flag_id text not null references flag (id),
    student_id text not null references student (id),
    account_id text not null references account (id),
    at text not null,
    primary key (flag_id, account_id)
);

-- Hold and close are recorded events, shown beside the derived stage.
create table record_event (
    id text primary key,
    student_id text not null references student (id),
    kind text not null check (kind in ('held', 'resumed', 'closed', 'reopened')),
    on_date text not null,
    reason text not null,
    at text not null,
    account_id text not null references account (id)
);
create index record_event_student on record_event (student_id);
