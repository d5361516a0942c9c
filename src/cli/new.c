/* new.c - a new plan folder: empty tables with their headers, or the demo ward. */
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "column.h"
#include "demo_files.h"
#include "digest.h"
#include "made.h"
#include "moment.h"
#include "verbs.h"
#include "zone.h"

#define TABLE_CEILING ((size_t)1 << 20)

typedef struct maker {
    const dd_words *words;
    dd_bytes *out, *err;
    dd_arena *arena;
    dd_made made;
} maker;

#define WARD "ward.csv" /* written last */

static bool write_demo(maker *m)
{
    for (int last = 0; last < 2; last++)
        for (const dd_demo_file *f = dd_demo_files; f->name; f++)
            if ((strcmp(f->name, WARD) == 0) == last && !dd_made_write(&m->made, f->name, (const char *)f->bytes, f->length))
                return false;
    dd_bytes_form(m->out, "%s: the demo ward, invented, not for care. See it as of its evening:\n  daydrip report %s --at \"2026-11-25 19:00\" --no-pages\n",
        m->made.folder, m->made.folder);
    return true;
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

static void say_no_memory(maker *m)
{
    dd_bytes_text(m->err, "daydrip: not enough memory\n");
}

/* One table with its header and nothing else; of ward.csv its settings too. */
static bool write_header(maker *m, const dd_table_shape *shape, const char *settings)
{
    char file[64];
    size_t length = strlen(shape->name);
    dd_bytes text = DD_BYTES(TABLE_CEILING);
    for (size_t i = 0; i < shape->count; i++)
        dd_bytes_form(&text, "%s%s", i ? "," : "", dd_column_list[shape->first + i].name);
    dd_bytes_char(&text, '\n');
    dd_bytes_text(&text, settings);
    memcpy(file, shape->name, length);
    memcpy(file + length, ".csv", 5);
    if (text.failed)
        say_no_memory(m);
    bool fine = !text.failed && dd_made_write(&m->made, file, text.data, text.length);
    dd_bytes_free(&text);
    return fine;
}

static bool write_empty(maker *m, const char *zone, const char *begins)
{
    char id[37], settings[256];
    dd_digest_uuid(id);
    snprintf(settings, sizeof settings, "ward,\nplan,%s\ntimezone,%s\nbegins,%s\nhours,\nshifts,day 07:00; night 19:00\n", id, zone, begins);
    for (int t = DD_TABLE_COUNT; t-- > 0;) /* ward.csv is the first */
        if (dd_column_table((dd_table)t)->required && !write_header(m, dd_column_table((dd_table)t), t == DD_TABLE_WARD ? settings : ""))
            return false;
    dd_bytes_form(m->out, "%s: an empty plan from %s (%s). Fill patients.csv, lines.csv and orders.csv with any\nspreadsheet; daydrip schedule %s says what does not fit.\n", m->made.folder, begins,
        zone, m->made.folder);
    return true;
}

/* What the ward's clock is, and when the plan begins. */
static int settle(maker *m, char begins[DD_MOMENT_MAX])
{
    const char *name = m->words->value[DD_OPTION_TIMEZONE];
    dd_zone zone;
    if (!name)
        return dd_words_wrong(m->err, m->words, "--timezone is missing: the ward's zone, such as Europe/London");
    dd_zone_end end = dd_zone_read(name, (dd_moment)time(NULL), m->arena, &zone);
    if (end == DD_ZONE_NO_MEMORY) {
        say_no_memory(m);
        return DD_EXIT_FILE;
    }
    if (end != DD_ZONE_READ)
        return dd_words_wrong(m->err, m->words, "--timezone \"%.60s\": expected a name of the IANA list, such as Europe/London", name);
    return find_begin(m, &zone, begins);
}

int dd_new_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    if (words->rest_count != 1)
        return dd_words_wrong(err, words, "say one folder to make");
    maker m = {.words = words, .out = out, .err = err, .arena = dd_arena_new()};
    m.made = (dd_made){.err = err, .arena = m.arena, .folder = words->rest[0], .what = "a new plan"};
    bool demo = words->value[DD_OPTION_DEMO];
    char begins[DD_MOMENT_MAX];
    int status = !m.arena ? DD_EXIT_FILE : demo ? DD_EXIT_DONE : settle(&m, begins);
    if (status == DD_EXIT_DONE && !dd_made_begin(&m.made)) {
        status = DD_EXIT_FILE;
    } else if (status == DD_EXIT_DONE && !(demo ? write_demo(&m) : write_empty(&m, words->value[DD_OPTION_TIMEZONE], begins))) {
        dd_made_undo(&m.made);
        status = DD_EXIT_FILE;
    }
    dd_arena_free(m.arena);
    return status;
}
