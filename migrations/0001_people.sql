-- People, sign-in, teams, and the logs that every write and every disclosure leaves.
-- Portable vocabulary only: text, bigint (flags 0/1), double precision.
-- Times are UTC text of fixed width, so that text order is time order. Dates are text yyyy-mm-dd.

create table setting (
    name text primary key,
    value text not null,
    changed_at text not null,
    changed_by text
);

create table account (
    id text primary key,
    role text check (role in ('vision_teacher', 'classroom_teacher', 'parent', 'clinician')),
    steward bigint not null default 0 check (steward in (0, 1)),
    mobility bigint not null default 0 check (mobility in (0, 1)),
    name text not null,
    sign_in text not null unique,
    password_hash text not null,
    clinic text,
    credential text,
    licence text,
    units text not null default 'metric' check (units in ('metric', 'imperial')),
    language text not null default 'en',
    appearance text not null default 'auto' check (appearance in ('auto', 'light', 'dark')),
    text_size bigint not null default 18,
    failures bigint not null default 0,
    locked_until text,
    created_at text not null,
    disabled_at text,
    version bigint not null default 1
);

create table session (
    token_hash text primary key,
    account_id text not null references account (id) on delete cascade,
    csrf text not null,
    agent text not null,
    created_at text not null,
    seen_at text not null,
    expires_at text not null,
    -- Privileged acts count on a password entered again a short while ago.
    reentered_at text
);
create index session_account on session (account_id);

create table student (
    id text primary key,
    number text not null unique,
    name text not null,
    preferred_name text not null default '',
    birth_date text not null,
    school text not null default '',
    grade text not null default '',
    languages text not null default '',
    interpreter bigint not null default 0 check (interpreter in (0, 1)),
    print_format text not null default '',
    created_at text not null,
    created_by text not null references account (id),
    version bigint not null default 1
);

create table membership (
    id text primary key,
    student_id text not null references student (id),
    account_id text not null references account (id),
    role text not null check (role in ('vision_teacher', 'classroom_teacher', 'parent', 'clinician')),
    lead bigint not null default 0 check (lead in (0, 1)),
    relation text not null default '',
    rights text not null default 'full' check (rights in ('full', 'none_by_order', 'education_decisions_only', 'contact_only', 'ended_at_transfer')),
    starts_on text not null,
    ends_on text,
    added_at text not null,
    added_by text not null,
    ended_at text,
    ended_by text
);
create index membership_student on membership (student_id);
create index membership_account on membership (account_id);

create table invitation (
    id text primary key,
    student_id text not null references student (id),
    role text not null check (role in ('vision_teacher', 'classroom_teacher', 'parent', 'clinician')),
    name text not null,
    relation text not null default '',
    token_hash text not null unique,
    created_at text not null,
    created_by text not null references account (id),
    expires_at text not null,
    used_at text,
    used_by text references account (id),
    withdrawn_at text
);
create index invitation_student on invitation (student_id);

-- A submission key is claimed inside the write it names: a repeat finds the first answer.
create table submission (
    key text primary key,
    account_id text not null,
    location text not null,
    at text not null
);

-- The technical log: who did what to which record. No content, no names.
create table audit (
    seq bigint primary key,
    at text not null,
    account_id text,
    acting_role text not null,
    action text not null,
    resource text not null,
    record_id text,
    student_id text,
    outcome text not null,
    previous_hash text not null,
    hash text not null
);
create index audit_student on audit (student_id);

-- The end of the audit chain. Updating its one row makes writers queue on either engine.
create table audit_head (
    id bigint primary key check (id = 1),
    seq bigint not null,
    hash text not null
);
insert into audit_head (id, seq, hash) values (1, 0, '');

-- The disclosure record, readable by the family: what went across, to whom, on which ground.
create table disclosure (
    id text primary key,
    student_id text not null references student (id),
    at text not null,
    account_id text,
    recipient text not null,
    organisation text not null default '',
    to_side text not null check (to_side in ('school', 'clinic', 'family', 'office')),
    what text not null,
    record_id text,
    basis text not null check (basis in ('consent', 'rights_holder', 'school_official', 'emergency', 'sent', 'none')),
    consent_id text,
    channel text not null check (channel in ('screen', 'print', 'export', 'sending')),
    refused bigint not null default 0 check (refused in (0, 1))
);
create index disclosure_student on disclosure (student_id, at);

-- The thread's events: what happened, for those who may read the record behind it.
create table event (
    id text primary key,
    student_id text not null references student (id),
    at text not null,
    on_date text not null,
    account_id text,
    resource text not null,
    record_id text,
    track text check (track in ('distance', 'near')),
    verb text not null
);
create index event_student on event (student_id, at);
