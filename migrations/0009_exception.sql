-- Past the usual: asking a clinician about another device, her leave taken back,
-- a device settled that is not as prescribed, a repair recorded back, a loan
-- extended, lost or broken, and a device taken out of the pool.

-- A vision teacher asks a clinician to allow a device that does not match.
create table loan_request (
    id text primary key,
    student_id text not null references student (id),
    track text not null check (track in ('distance', 'near')),
    device_id text not null references device (id),
    under_kind text not null check (under_kind in ('evaluation', 'decision')),
    under_id text not null,
    reason text not null,
    post_id text references post (id),
    at text not null,
    account_id text not null references account (id),
    answer text check (answer in ('allowed', 'left')),
    answer_reason text not null default '',
    answered_at text,
    answered_by text references account (id)
);
create index loan_request_student on loan_request (student_id);
-- One open question about a device under one recommendation.
create unique index loan_request_open on loan_request (student_id, track, device_id, under_id) where answered_at is null;

alter table loan_allowance add column withdrawn_at text;
alter table loan_allowance add column withdrawn_by text references account (id);
alter table loan_allowance add column withdrawn_reason text not null default '';
create unique index loan_allowance_open on loan_allowance (student_id, track, device_id, under_id) where withdrawn_at is null;

alter table own_device add column settled_reason text not null default '';

-- Who recorded the device back, and when, beside the day it came back on.
alter table repair add column back_at text;
alter table repair add column back_by text references account (id);
create unique index repair_open on repair (own_device_id) where back_on is null;

-- A later due date of a loan; the one it had stays beside it.
create table loan_extension (
    id text primary key,
    student_id text not null references student (id),
    loan_id text not null references loan (id),
    due_before text not null,
    due_after text not null,
    reason text not null,
    at text not null,
    account_id text not null references account (id)
);
create index loan_extension_student on loan_extension (student_id);

-- A device lost or broken while it was out, which ends the loan.
create table loan_report (
    id text primary key,
    student_id text not null references student (id),
    loan_id text not null unique references loan (id),
    told_by text not null,
    words text not null,
    at text not null,
    account_id text not null references account (id)
);
create index loan_report_student on loan_report (student_id);

alter table device add column retired_by text references account (id);
alter table device add column retired_reason text not null default '';
