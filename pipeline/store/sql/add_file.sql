-- one file of a batch, its rows not yet placed; into files
insert into files
select $file_id, $batch_id, $path, $sheet, $kind, $content_hash, 0, 0, 0, 0, 0, $not_used, $readings, $same_content_as
