-- What a light meter read on the screen of a projector: with a white slide, with a
-- black one, and with the projector off; as typed beside the lux. All or none.

alter table visual_task add column screen_white_typed text not null default '';
alter table visual_task add column screen_white_lux double precision;
alter table visual_task add column screen_black_typed text not null default '';
alter table visual_task add column screen_black_lux double precision;
alter table visual_task add column screen_off_typed text not null default '';
alter table visual_task add column screen_off_lux double precision;
