-- Loans, own devices and readiness lists that were entered in error: they stay
-- listed and count as never lent, never received, never signed.

-- An open loan that is marked takes the day it went out as the day it came back,
-- so that every question for open loans, and the index loan_open, finds none:
-- the device can go out again, on that day too.
alter table loan add column entered_in_error_at text;

-- For two people who amend one.
alter table own_device add column version bigint not null default 1;

-- A list in error makes room for another one of its track.
alter table readiness add column entered_in_error_at text;
drop index readiness_track;
create unique index readiness_track on readiness (student_id, track) where entered_in_error_at is null;
