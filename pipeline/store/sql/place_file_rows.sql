-- where the rows of one file went; into files
update files
set rows = $rows, accepted = $accepted, updated = $updated, unchanged = $unchanged, quarantined = $quarantined
where file_id = $file_id
