/* compare.c - `compare FILE`: the orders held against a second table of the same orders. */
#include "arena.h"
#include "daydrip/status.h"
#include "differ_list.h"
#include "list.h"
#include "recorded.h"
#include "session.h"
#include "verbs.h"

#define CALM_CEILING ((size_t)1 << 30)

/* Reads FILE, and says what is wrong with it. False: nothing can be compared. */
static bool read_record(dd_session *s, const char *path, dd_folder **record)
{
    dd_status status = dd_recorded_read(s->folder, path, record);
    if (!*record) {
        dd_session_failed(s, status);
        return false;
    }
    if (status != DD_OK && (!s->words->value[DD_OPTION_QUIET] || !dd_folder_usable(*record)))
        dd_recorded_show(*record, s->err);
    if (status == DD_CANNOT_READ)
        dd_session_exit(s, DD_EXIT_FILE);
    else if (status != DD_OK)
        dd_session_exit(s, DD_EXIT_PLAN);
    return dd_folder_usable(*record);
}

/* What is compared, and how far it has come. */
typedef struct comparison {
    dd_session *s;
    dd_differ differ;
    dd_differ_list list;
    dd_bytes calm; /* patients without differences: behind those with some */
    size_t open;   /* differences that nobody has accepted */
} comparison;

static dd_status write_patient(comparison *c, const dd_patient *p)
{
    const dd_session *s = c->s;
    const dd_patient *recorded = &dd_folder_plan(c->list.record)->patients[p - s->plan->patients];
    dd_differ_cell *cells;
    size_t count, differ = 0;
    if (p->errors || recorded->errors)
        return DD_OK;
    dd_status status = dd_differ_patient(&c->differ, p, recorded, &cells, &count);
    for (size_t i = 0; i < count && status == DD_OK; i++) {
        differ += !cells[i].same;
        c->open += !cells[i].same && !cells[i].accepted;
    }
    if (status != DD_OK)
        return status;
    if (s->view.csv)
        return dd_differ_rows(p, cells, count, s->out);
    return differ ? dd_differ_block(&c->list, p, cells, count, s->out) : dd_differ_line(&c->list, p, cells, count, &c->calm);
}

static dd_status write_all(comparison *c)
{
    dd_session *s = c->s;
    dd_status status = DD_OK;
    if (s->view.csv)
        status = s->view.header ? dd_differ_rows_head(s->out) : DD_OK;
    else
        status = dd_list_head(&s->view, "COMPARE", s->out);
    if (status == DD_OK && !s->view.csv)
        status = dd_differ_head(&c->list, s->out);
    for (size_t i = 0; i < s->view.count && status == DD_OK; i++) {
        status = write_patient(c, s->patients[i]);
        dd_arena_reset(c->differ.arena);
    }
    if (c->calm.length)
        dd_bytes_add(s->out, c->calm.data, c->calm.length);
    if (status == DD_OK && c->calm.failed)
        status = DD_NO_MEMORY;
    return status == DD_OK && !s->view.csv ? dd_list_end(&s->view, s->out) : status;
}

static void compare(dd_session *s, const dd_folder *record)
{
    dd_arena *arena = dd_arena_new();
    dd_recorded_rows *orders = dd_recorded_open(s->folder, s->arena), *records = dd_recorded_open(record, s->arena);
    comparison c = {.s = s, .list = {.view = &s->view, .record = record}, .calm = DD_BYTES(CALM_CEILING),
                    .differ = {.record = record, .plan = s->plan, .now = s->view.now, .arena = arena, .orders_rows = orders, .record_rows = records}};
    dd_status status = arena && orders && records ? write_all(&c) : DD_NO_MEMORY;
    dd_recorded_close(orders);
    dd_recorded_close(records);
    dd_arena_free(arena);
    dd_bytes_free(&c.calm);
    if (status != DD_OK)
        dd_session_failed(s, status);
    else if (dd_session_deliver(s) && c.open)
        dd_session_exit(s, DD_EXIT_CLARIFY);
}

int dd_compare_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_session s;
    dd_folder *record = NULL;
    if (words->rest_count == 0)
        return dd_words_wrong(err, words, "say the file that is held against the orders, a table in the shape of orders.csv");
    if (dd_session_begin(&s, words, DD_CLOCK_OR_BEGIN, out, err) && read_record(&s, words->rest[0], &record))
        compare(&s, record);
    dd_folder_free(record);
    dd_session_end(&s);
    return s.exit_status;
}
