-- the working tables of a withdrawal
drop table EVENTS;

drop table UNUSABLE;

drop table TEXTS
