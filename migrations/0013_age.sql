-- Dates that change who may read: coming of age (G10), and access limits.
-- Portable vocabulary only: text, bigint (flags 0/1), double precision.

-- What a student of age said a parent may read. The newest row of a parent
-- counts; whether the student is of age follows from the birth date.
create table age_choice (
    id text primary key,
    student_id text not null references student (id),
    account_id text not null references account (id),
    -- Codes of consent categories as JSON; an empty list is a choice, too.
    categories text not null,
    how text not null check (how in ('said', 'wrote', 'signed', 'interpreted')),
    words text not null,
    decided_on text not null,
    witness text not null,
    recorded_at text not null,
    recorded_by text not null references account (id)
);
create index age_choice_student on age_choice (student_id, account_id);

-- What an order leaves to an adult: proposed by one records officer, in force
-- when a second one confirms.
create table access_limit (
    id text primary key,
    student_id text not null references student (id),
    account_id text not null references account (id),
    rights text not null check (rights in ('none_by_order', 'education_decisions_only', 'contact_only')),
    document text not null,
    starts_on text not null,
    ends_on text,
    proposed_at text not null,
    proposed_by text not null references account (id),
    confirmed_at text,
    confirmed_by text references account (id),
    withdrawn_at text,
    withdrawn_by text references account (id),
    lifted_at text
);
create index access_limit_student on access_limit (student_id, account_id);

-- Lifting a limit takes two people as well; a proposal may be withdrawn and made anew.
create table limit_lift (
    id text primary key,
    student_id text not null references student (id),
    limit_id text not null references access_limit (id),
    document text not null,
    proposed_at text not null,
    proposed_by text not null references account (id),
    confirmed_at text,
    confirmed_by text references account (id),
    withdrawn_at text,
    withdrawn_by text references account (id)
);
create index limit_lift_limit on limit_lift (limit_id);
