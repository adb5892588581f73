-- the batch is marked, its files hand their place to their heirs; from heirs
update batches
set withdrawn_at = $now
where batch_id = $batch_id;

update files
set same_content_as = heirs.heir_id
from heirs
where files.same_content_as = heirs.file_id and files.batch_id <> $batch_id;

update files
set same_content_as = null
from heirs
where files.file_id = heirs.heir_id;

update warnings
set file_id = heirs.heir_id
from heirs
where warnings.file_id = heirs.file_id
