/* new.c - a new plan folder: empty tables with their headers, or the demo ward. */
#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#include "column.h"
#include "demo_files.h"
#include "digest.h"
#include "file.h"
#include "moment.h"
#include "verbs.h"
#include "zone.h"

#define TABLE_CEILING ((size_t)1 << 20)

typedef struct maker {
    const dd_words *words;
    dd_bytes *out, *err;
    dd_arena *arena;
    const char *folder;
} maker;

static int cannot_write(maker *m, const char *what)
{
    dd_bytes_form(m->err, "daydrip: %s: %s\n", what, strerror(errno));
    return DD_EXIT_FILE;
}

static int write_table(maker *m, const char *name, const char *bytes, size_t length)
{
    char *path = dd_file_join(m->arena, m->folder, name);
    if (!path || dd_file_write(path, bytes, length, false) != DD_OK)
        return cannot_write(m, path ? path : name);
    return DD_EXIT_DONE;
}

/* The folder is made, or there and empty: nothing that is there is ever written over. */
static int make_folder(maker *m)
{
    const char **names;
    size_t count;
    if (mkdir(m->folder, 0777) == 0)
        return DD_EXIT_DONE;
    if (errno != EEXIST || dd_file_list(m->folder, m->arena, &names, &count) != DD_OK)
        return cannot_write(m, m->folder);
    if (count == 0)
        return DD_EXIT_DONE;
    dd_bytes_form(m->err, "daydrip: %s is there and not empty; a new plan needs a folder of its own\n", m->folder);
    return DD_EXIT_FILE;
}

static int write_demo(maker *m)
{
    int status = DD_EXIT_DONE;
    for (const dd_demo_file *f = dd_demo_files; f->name && status == DD_EXIT_DONE; f++)
        status = write_table(m, f->name, (const char *)f->bytes, f->length);
    if (status == DD_EXIT_DONE)
        dd_bytes_form(m->out, "%s: the demo ward, invented, not for care. See it as of its evening:\n  daydrip report %s --at \"2026-11-25 19:00\" --no-pages\n",
            m->folder, m->folder);
    return status;
}

/* Where the plan begins: --begins, else 07:00 today on the ward's clock. */
static int find_begin(maker *m, const dd_zone *zone, char begins[DD_MOMENT_MAX])
{
    const char *text = m->words->value[DD_OPTION_BEGINS];
    dd_time_text t;
    if (!text) {
        dd_civil today = dd_moment_local(zone, (dd_moment)time(NULL));
        today.hour = 7;
        today.minute = today.second = 0;
        dd_moment_write(begins, zone, dd_moment_resolve(zone, today, NULL), DD_MOMENT_LOCAL);
        return DD_EXIT_DONE;
    }
    if (dd_moment_read(text, strlen(text), &t) != DD_TF_NONE || !t.has_date || !t.has_clock || t.has_offset)
        return dd_words_wrong(m->err, m->words, "--begins \"%.60s\": expected a date and clock such as \"2026-11-25 07:00\"", text);
    dd_moment_write(begins, zone, dd_moment_resolve(zone, t.civil, NULL), DD_MOMENT_LOCAL);
    return DD_EXIT_DONE;
}

static int write_empty(maker *m)
{
    const char *name = m->words->value[DD_OPTION_TIMEZONE];
    dd_zone zone;
    char begins[DD_MOMENT_MAX], id[37];
    if (!name)
        return dd_words_wrong(m->err, m->words, "--timezone is missing: the ward's zone, such as Europe/London");
    if (dd_zone_read(name, (dd_moment)time(NULL), m->arena, &zone) != DD_ZONE_READ)
        return dd_words_wrong(m->err, m->words, "--timezone \"%.60s\": expected a name of the IANA list, such as Europe/London", name);
    int status = find_begin(m, &zone, begins);
    status = status == DD_EXIT_DONE ? make_folder(m) : status;
    dd_bytes text = DD_BYTES(TABLE_CEILING);
    for (int t = 0; t < DD_TABLE_COUNT && status == DD_EXIT_DONE; t++) {
        const dd_table_shape *shape = dd_column_table((dd_table)t);
        if (!shape->required)
            continue;
        dd_bytes_clear(&text);
        for (size_t i = 0; i < shape->count; i++)
            dd_bytes_form(&text, "%s%s", i ? "," : "", dd_column_list[shape->first + i].name);
        dd_bytes_char(&text, '\n');
        if (t == DD_TABLE_WARD) {
            dd_digest_uuid(id);
            dd_bytes_form(&text, "ward,\nplan,%s\ntimezone,%s\nbegins,%s\nhours,\nshifts,day 07:00; night 19:00\n", id, name, begins);
        }
        char file[64];
        size_t length = strlen(shape->name);
        memcpy(file, shape->name, length);
        memcpy(file + length, ".csv", 5);
        status = text.failed ? cannot_write(m, file) : write_table(m, file, text.data, text.length);
    }
    if (status == DD_EXIT_DONE)
        dd_bytes_form(m->out, "%s: an empty plan from %s (%s). Fill patients.csv, lines.csv and orders.csv with any\nspreadsheet; daydrip schedule %s says what does not fit.\n", m->folder, begins,
            name, m->folder);
    dd_bytes_free(&text);
    return status;
}

int dd_new_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    if (words->rest_count != 1)
        return dd_words_wrong(err, words, "say one folder to make");
    maker m = {.words = words, .out = out, .err = err, .arena = dd_arena_new(), .folder = words->rest[0]};
    if (!m.arena)
        return DD_EXIT_FILE;
    int status;
    if (words->value[DD_OPTION_DEMO]) {
        status = make_folder(&m);
        status = status == DD_EXIT_DONE ? write_demo(&m) : status;
    } else {
        status = write_empty(&m);
    }
    dd_arena_free(m.arena);
    return status;
}
