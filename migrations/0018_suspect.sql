-- Lengths that may carry another unit than was meant (5 mm where the rest says
-- 5 cm): the entry is kept as typed, and its writer is asked.

-- The questions, with what was typed and what else it may have been; those that
-- are answered stay, so that nobody is asked twice.
alter table observation add column asked text not null default '[]';
-- While one waits, the entry is in no figure.
alter table observation add column asked_state text not null default '' check (asked_state in ('', 'waits', 'answered'));
alter table observation add column asked_at text;

-- Which row of a spreadsheet an entry came from, as a digest of the row: the same
-- sheet taken in again adds nothing.
alter table observation add column sheet_row text;
create unique index observation_sheet_row on observation (student_id, sheet_row) where sheet_row is not null;
