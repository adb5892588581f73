-- the working tables of a withdrawal
drop table EVENTS;

drop table UNUSABLE;

drop table TEXTS;

drop table if exists handed_on;

drop table if exists at_odds;

drop table if exists first_places;

drop macro if exists other_places
