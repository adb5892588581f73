-- one row per record in the book that does not fit with other records, though it was kept; from callbacks, labour, openings, jobs
--
-- asked of the book as it stands, so that rows that waited, corrections and withdrawals count like any others
-- early callback: reported before its job was completed
-- duplicate elsewhere: marked as a duplicate of a callback at another opening, so its visit and cost stand there
-- hours after completion: worked after the job was completed, while a callback of the job with hours or a cost of its own
-- was reported by then; the same hours may be counted twice
create or replace macro doubtful_rows() as table
with early_callbacks as (
    select
        callbacks._file_id as file_id, callbacks._line as line, 'reported_on' as column_name,
        callbacks.reported_on::varchar as value,
        'reported on ' || callbacks.reported_on || ', before job ' || jobs.job_id || ' was completed on '
            || jobs.completed_on || '; check the two dates' as sentence
    from callbacks
    join openings using (opening_id)
    join jobs using (job_id)
    where callbacks.reported_on < jobs.completed_on
),
duplicates_elsewhere as (
    select
        this._file_id, this._line, 'duplicate_of', this.duplicate_of,
        'marked as a duplicate of ' || that.callback_id || ', which is at opening ' || that.opening_id || ', not '
            || this.opening_id || '; its visit and cost count there'
    from callbacks as this
    join callbacks as that on that.callback_id = this.duplicate_of
    where that.opening_id <> this.opening_id
),
costed_callbacks as (
    select openings.job_id, min(callbacks.reported_on) as first_reported_on
    from callbacks
    join openings using (opening_id)
    where callbacks.labour_hours is not null or callbacks.labour_cost is not null
    group by openings.job_id
),
late_hours as (
    select
        labour._file_id, labour._line, 'worked_on', labour.worked_on::varchar,
        'worked on ' || labour.worked_on || ', after job ' || jobs.job_id || ' was completed on ' || jobs.completed_on
            || ', and a callback of the job has hours of its own; perhaps counted twice'
    from labour
    join jobs using (job_id)
    join costed_callbacks using (job_id)
    where labour.worked_on > jobs.completed_on
        and labour.worked_on >= costed_callbacks.first_reported_on
),
final_step as (
    from early_callbacks
    union all
    from duplicates_elsewhere
    union all
    from late_hours
)
select * from final_step;
