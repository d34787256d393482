-- Drafts that changed hands when the membership of whoever began them ended.
-- Their authors stay; this says who goes on with them. Nobody: the records officer.

create table handover (
    id text primary key,
    student_id text not null references student (id),
    kind text not null check (kind in ('evaluation', 'transcription', 'summary', 'card', 'prescription')),
    record_id text not null,
    from_account text not null references account (id),
    to_account text references account (id),
    at text not null,
    by_account text not null references account (id)
);
create index handover_student on handover (student_id, at);
