-- The thread grown up: questions closed and asked again, the student's own
-- words, and what to try at home with editions of its own.

-- A question that its asker closed without an answer, and since when one that
-- was asked again waits anew.
alter table post add column closed_without_answer bigint not null default 0 check (closed_without_answer in (0, 1));
alter table post add column reopened_at text;

-- Every closing without an answer and every asking again, so that none is lost.
create table question_step (
    id text primary key,
    student_id text not null references student (id),
    post_id text not null references post (id),
    step text not null check (step in ('closed', 'reopened')),
    why text not null default '',
    reason text not null default '',
    at text not null,
    account_id text not null references account (id)
);
create index question_step_student on question_step (student_id, at);

-- What the student said, kept as said by whoever wrote it down: with an
-- observation, or with a post of its own.
create table student_words (
    id text primary key,
    student_id text not null references student (id),
    observation_id text references observation (id),
    post_id text references post (id),
    said_on text not null,
    about text not null default '',
    worked text not null default '',
    would_use text not null default '',
    words text not null default '',
    entered_at text not null,
    entered_by text not null references account (id)
);
create index student_words_student on student_words (student_id, said_on);

-- What to try at home: a draft has one row and a version; a released edition
-- never changes.
create table try_at_home (
    id text primary key,
    student_id text not null references student (id),
    edition bigint not null,
    state text not null check (state in ('draft', 'released')),
    body text not null,
    visual_task_id text references visual_task (id),
    task_code text not null default '',
    changed_at text not null,
    changed_by text not null references account (id),
    released_at text,
    released_by text references account (id),
    withdrawn_at text,
    withdrawn_by text references account (id),
    withdrawn_reason text not null default '',
    version bigint not null default 1
);
create unique index try_at_home_edition on try_at_home (student_id, edition);

-- A note from home that answers one of them.
create table tried_at_home (
    observation_id text primary key references observation (id),
    student_id text not null references student (id),
    try_at_home_id text not null references try_at_home (id)
);
create index tried_at_home_student on tried_at_home (student_id);

-- What was released with a card so far, under the card's id, so that the lines
-- of the thread still lead to it; and what stands in a draft.
insert into try_at_home (id, student_id, edition, state, body, changed_at, changed_by, released_at, released_by)
select c.id, c.student_id, 1, 'released', c.try_at_home, c.changed_at, c.changed_by, c.released_at, c.released_by
from card c
where c.state = 'released' and c.try_at_home <> ''
and c.edition = (select max(o.edition) from card o where o.student_id = c.student_id and o.state = 'released')
and not exists (select 1 from document_mark m where m.document_kind = 'card' and m.document_id = c.id and m.mark = 'withdrawn');

insert into try_at_home (id, student_id, edition, state, body, changed_at, changed_by)
select c.id, c.student_id, 1 + (select count(*) from try_at_home t where t.student_id = c.student_id), 'draft', c.try_at_home, c.changed_at, c.changed_by
from card c
where c.state = 'draft' and c.try_at_home <> ''
and not exists (select 1 from try_at_home t where t.student_id = c.student_id and t.body = c.try_at_home);
