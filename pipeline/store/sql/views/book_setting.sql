-- a value; the dated values of a setting remembered in the book, for the views for people; from firm_settings
-- otherwise = the value when the book remembers none
create or replace macro book_setting(setting, otherwise) as coalesce(
    (
        select list(struct_pack(valid_from := valid_from, value := value) order by valid_from)
        from firm_settings
        where name = setting
    ),
    [struct_pack(valid_from := date '1900-01-01', value := cast(otherwise as decimal(14, 4)))]
);
