-- What became of a document after it was signed. The document itself stays as
-- it was signed.

create table document_mark (
    id text primary key,
    student_id text not null references student (id),
    document_kind text not null check (document_kind in ('evaluation', 'decision', 'prescription', 'summary', 'card')),
    document_id text not null,
    -- Counted from 1 for each document, so that two people cannot both be next.
    seq bigint not null,
    mark text not null check (mark in ('amended', 'superseded', 'cancelled', 'withdrawn', 'entered_in_error')),
    reason text not null,
    -- The newer document that took the place of this one.
    next_id text,
    at text not null,
    account_id text not null references account (id),
    -- When the other side could first know of it; null, no consent has let it across.
    crossed_at text,
    unique (document_kind, document_id, seq)
);
create index document_mark_student on document_mark (student_id);

-- Why a draft is to take the place of a signed document.
alter table evaluation add column supersedes_reason text not null default '';
alter table prescription add column supersedes_reason text not null default '';
alter table summary add column supersedes_reason text not null default '';

-- One draft at a time takes the place of a document.
create unique index evaluation_next on evaluation (supersedes_id) where state = 'draft';
create unique index prescription_next on prescription (supersedes_id) where state = 'draft';
create unique index summary_next on summary (supersedes_id) where state = 'draft';

-- The entries a summary counted when it was sent, each with the version it
-- stood at, and what else it was made under: JSON.
alter table summary add column counted text not null default '{}';
