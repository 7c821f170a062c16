-- What people answer to questions about the readings of a trial, and how they name
-- the columns of their tables. Both are append-only: the last row to a question, or
-- to a header, counts.

create table answer (
  id       integer primary key,
  trial_id integer not null references trial,
  question text not null check (question <> ''),                  -- its key
  says     text not null,                                         -- as it was asked
  answer   text not null check (answer in ('yes', 'no', 'unknown', 'open')),  -- open: the answer was taken back
  spec     text not null check (json_valid(spec)),                -- which of several ways, what water
  why      text not null check (why <> ''),
  at       text not null,
  by_name  text not null,
  by_from  text not null
) strict;

create index answer_question on answer (trial_id, question, id);
create trigger answer_stays before update on answer begin select raise(abort, 'answers are append-only'); end;
create trigger answer_kept before delete on answer begin select raise(abort, 'answers are append-only'); end;

create table heading (
  id      integer primary key,
  header  text not null check (header <> ''),        -- the cells of a table's header row, one a line
  columns text not null check (json_valid(columns)), -- what each column of ours is called there
  at      text not null,
  by_name text not null,
  by_from text not null
) strict;

create index heading_header on heading (header, id);
create trigger heading_stays before update on heading begin select raise(abort, 'headings are append-only'); end;
create trigger heading_kept before delete on heading begin select raise(abort, 'headings are append-only'); end;
