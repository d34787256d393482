-- The loop closed: summary, decision, prescription.

create table summary (
    id text primary key,
    student_id text not null references student (id),
    track text not null check (track in ('distance', 'near')),
    from_on text not null,
    to_on text not null,
    state text not null check (state in ('draft', 'sent', 'entered_in_error')),
    edition bigint not null default 1,
    words text not null default '',
    student_words text not null default '',
    questions text not null default '',
    look_at text not null default '',
    few_reason text not null default '',
    -- The figures as drafted or, once sent, as sent: JSON of the summary's own types.
    figures text not null default '{}',
    counted_through text not null default '',
    created_at text not null,
    created_by text not null references account (id),
    sent_at text,
    sent_by text references account (id),
    supersedes_id text references summary (id),
    version bigint not null default 1
);
create index summary_student on summary (student_id);

create table decision (
    id text primary key,
    student_id text not null references student (id),
    track text not null check (track in ('distance', 'near')),
    summary_id text references summary (id),
    choice text not null check (choice in ('keep_going', 'change_device', 'change_seat', 'change_material', 'refer_or_treat_first', 'stop', 'finalise')),
    seat_typed text not null default '',
    seat_m double precision,
    x_height_typed text not null default '',
    x_height_mm double precision,
    contrast text not null default '',
    light text not null default '',
    filter text not null default '',
    reason text not null,
    -- What finalising rests on (G8): the summaries that cover the devices, or the reason why there is none.
    evidence text not null default '[]',
    no_summary_reason text not null default '',
    decided_on text not null,
    next_on text,
    signed_at text not null,
    signed_by text not null references account (id),
    state text not null default 'signed' check (state in ('signed', 'entered_in_error')),
    supersedes_id text references decision (id)
);
create index decision_student on decision (student_id);

create table prescription (
    id text primary key,
    student_id text not null references student (id),
    number text not null unique,
    state text not null check (state in ('draft', 'active', 'superseded', 'cancelled', 'entered_in_error')),
    evaluation_id text references evaluation (id),
    decision_id text references decision (id),
    right_sphere_d double precision,
    right_cylinder_d double precision,
    right_axis_deg bigint,
    right_add_d double precision,
    right_prism_d double precision,
    right_prism_base text not null default '',
    left_sphere_d double precision,
    left_cylinder_d double precision,
    left_axis_deg bigint,
    left_add_d double precision,
    left_prism_d double precision,
    left_prism_base text not null default '',
    -- Each lens as typed, and which unusual values of it were confirmed as right.
    right_typed text not null default '',
    left_typed text not null default '',
    right_confirmed text not null default '',
    left_confirmed text not null default '',
    -- The form as it was typed, field by field, as JSON.
    entry text not null default '[]',
    lens_note text not null default '',
    limits text not null default '',
    lighting text not null default '',
    seating text not null default '',
    evidence text not null default '[]',
    no_summary_reason text not null default '',
    written_on text,
    review_on text,
    expires_on text,
    prescriber_line text not null default '',
    created_at text not null,
    created_by text not null references account (id),
    signed_at text,
    signed_by text references account (id),
    supersedes_id text references prescription (id),
    version bigint not null default 1
);
create index prescription_student on prescription (student_id);
