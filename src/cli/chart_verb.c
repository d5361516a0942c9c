/* chart_verb.c - `chart`: what happened, added to chart.csv; one entry from the command's own words, or one from each line of a text. */
#include <errno.h>
#include <glib.h>
#include <string.h>
#include <time.h>

#include "append.h"
#include "changes.h"
#include "chart_words.h"
#include "file.h"
#include "show.h"
#include "verbs.h"

#define TEXT_CEILING ((size_t)8 << 20) /* bytes of what --from names */
#define TRIES 100                      /* how often another may put a new chart.csv in place before we give up */

/* What was said, before it is known what it means. */
typedef struct script {
    dd_chart_line *lines;
    dd_words *words;      /* one for each line */
    size_t count;
    size_t wrong;         /* lines that are no words at all, said already */
} script;

static int file_fault(dd_bytes *err, const char *path, const char *why)
{
    dd_bytes_text(err, "daydrip: ");
    dd_show_safe(path, strlen(path), 0, err);
    dd_bytes_form(err, ": %s\n", why);
    return DD_EXIT_FILE;
}

static int no_memory(dd_bytes *err)
{
    dd_bytes_text(err, "daydrip: not enough memory\n");
    return DD_EXIT_FILE;
}

static const char *folder_of(const dd_words *words)
{
    return words->value[DD_OPTION_PLAN] ? words->value[DD_OPTION_PLAN] : ".";
}

/* ---- the lines of a text ---- */

static bool wrong_line(dd_chart *c, script *s, const dd_chart_line *line, const char *what, const char *expected)
{
    dd_chart_words_wrong(c, line, "line", what, NULL, "", NULL, expected);
    s->wrong++;
    return false;
}

/* One line: the words of the verb, in a shell's quotes. False: no entry is in it. */
static bool read_line(dd_chart *c, script *s, dd_chart_line *line, dd_words *words)
{
    char **list = NULL;
    int count = 0;
    GError *error = NULL;
    if (!g_shell_parse_argv(line->text, &count, &list, &error)) {
        bool empty = g_error_matches(error, G_SHELL_ERROR, G_SHELL_ERROR_EMPTY_STRING);
        g_error_free(error);
        return empty ? false : wrong_line(c, s, line, "a quote is never closed", "two of each quote, or a backslash before one that stands for itself");
    }
    bool whole = count > 1 && strcmp(list[0], "daydrip") == 0 && strcmp(list[1], "chart") == 0;
    char **argv = g_new0(char *, (gsize)count + 3);
    int argc = 0;
    argv[argc++] = (char[]){"daydrip"};
    argv[argc++] = (char[]){"chart"};
    for (int i = whole ? 2 : 0; i < count; i++)
        argv[argc++] = list[i];
    dd_bytes unheard = DD_BYTES(TEXT_CEILING), complaint = DD_BYTES(TEXT_CEILING);
    bool fine = dd_words_read(argc, argv, words, &unheard, &complaint);
    if (!fine) {
        const char *what = complaint.length > 9 ? complaint.data + 9 : "no entry is in it";
        char *first = g_strndup(what, strcspn(what, "\n"));
        wrong_line(c, s, line, first, "BED ORDER-or-LINE EVENT [VALUE] and --at, --due, --by or --note");
        g_free(first);
    } else if (words->value[DD_OPTION_FILE] || words->value[DD_OPTION_PLAN]) {
        fine = wrong_line(c, s, line, words->value[DD_OPTION_PLAN] ? "--plan stands in a line" : "--from stands in a line", "--plan and --from once, behind daydrip chart");
    }
    dd_bytes_free(&unheard);
    dd_bytes_free(&complaint);
    if (!fine)
        dd_words_free(words);
    g_free(argv);
    g_strfreev(list);
    return fine;
}

/* Cuts the text into lines and each into words. */
static int read_text(dd_chart *c, script *s, dd_arena *arena)
{
    char *text;
    size_t length, lines = 1;
    switch (dd_file_read(c->source, TEXT_CEILING, arena, &text, &length)) {
    case DD_FILE_READ: break;
    case DD_FILE_ABSENT: return file_fault(c->err, c->source, "there is no such file");
    case DD_FILE_REFUSED: return file_fault(c->err, c->source, strerror(errno));
    case DD_FILE_TOO_LARGE: return file_fault(c->err, c->source, "is larger than 8 MiB");
    case DD_FILE_NO_MEMORY: return no_memory(c->err);
    }
    if (memchr(text, '\0', length))
        return file_fault(c->err, c->source, "is no text: it holds NUL bytes");
    if (length >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0)
        text += 3;
    for (const char *p = text; (p = strchr(p, '\n')); p++)
        lines++;
    s->lines = dd_arena_take_many(arena, lines, sizeof *s->lines);
    s->words = dd_arena_take_many(arena, lines, sizeof *s->words);
    if (!s->lines || !s->words)
        return no_memory(c->err);
    uint32_t number = 0;
    for (char *p = text, *next; p; p = next) {
        next = strchr(p, '\n');
        if (next)
            *next++ = '\0';
        size_t end = strlen(p);
        if (end && p[end - 1] == '\r')
            p[end - 1] = '\0';
        dd_chart_line *line = &s->lines[s->count];
        *line = (dd_chart_line){.words = &s->words[s->count], .text = p, .number = ++number};
        s->count += read_line(c, s, line, &s->words[s->count]);
    }
    return DD_EXIT_DONE;
}

/* ---- saying what was charted ---- */

static void say_value(const dd_event *e, dd_bytes *out)
{
    if (e->value.unit == DD_UNIT_NONE) {
        if (e->value_text)
            dd_bytes_form(out, " %s", e->value_text);
        return;
    }
    char number[DD_NUMBER_MAX * 2];
    if (e->kind == DD_EVENT_READING)
        dd_bytes_form(out, " %s", e->what);
    if (dd_number_quantity(number, sizeof number, e->value) < sizeof number)
        dd_bytes_form(out, " %s", number);
}

/* The weekday is enough for what is at most six days away. */
static void say_moment(const dd_chart *c, dd_moment t, dd_bytes *out)
{
    char text[DD_MOMENT_MAX];
    bool near = t > c->now - 6 * 86400 && t < c->now + 6 * 86400;
    dd_moment_write(text, dd_folder_plan(c->folder)->zone, t, near ? DD_MOMENT_DAY : DD_MOMENT_DATE_CLOCK);
    dd_bytes_text(out, text);
}

/* `e-0007 bay1-bed2 drip rate 24 drops/min at Wed 19:05`. */
static void say_charted(const dd_chart *c, const dd_entry *entry, dd_bytes *out)
{
    const dd_event *e = &entry->event;
    const dd_patient *p = entry->patient;
    const char *event = entry->cells[DD_COL_CHART_EVENT - DD_COL_CHART_ENTRY], *order = entry->cells[DD_COL_CHART_ORDER - DD_COL_CHART_ENTRY];
    const char *line = entry->cells[DD_COL_CHART_LINE - DD_COL_CHART_ENTRY], *strikes = entry->cells[DD_COL_CHART_STRIKES - DD_COL_CHART_ENTRY];
    dd_bytes_form(out, "%s %s", e->entry, p->bed);
    if (order || line)
        dd_bytes_form(out, " %s", order ? order : line);
    dd_bytes_form(out, " %s", event);
    if (e->kind == DD_EVENT_MOVED)
        dd_bytes_form(out, " to %s", line);
    if (e->kind == DD_EVENT_INTAKE || e->kind == DD_EVENT_OUTPUT)
        dd_bytes_form(out, " %s", e->what);
    if (strikes)
        dd_bytes_form(out, " %s", strikes);
    say_value(e, out);
    if (e->due != DD_NEVER) {
        dd_bytes_text(out, ", due ");
        say_moment(c, e->due, out);
        dd_bytes_char(out, ',');
    }
    dd_bytes_text(out, " at ");
    say_moment(c, e->time, out);
    dd_bytes_char(out, '\n');
}

/* A clock in --due is the last one before it happened. Where the next one is nearer, a dose given early may have been meant. */
static void say_due(const dd_chart *c, const dd_entry *entry, const char *due)
{
    const dd_event *e = &entry->event;
    const dd_zone *zone = dd_folder_plan(c->folder)->zone;
    dd_time_text time;
    if (!due || e->due == DD_NEVER || dd_moment_read(due, strlen(due), &time) != DD_TF_NONE || time.has_date || time.has_weekday)
        return;
    dd_civil local = dd_moment_local(zone, e->due);
    dd_moment next = dd_moment_clock_after(zone, e->due, local.hour * 3600 + local.minute * 60 + local.second);
    if (next - e->time >= e->time - e->due)
        return;
    char date[DD_MOMENT_MAX];
    dd_entry_moment(zone, next, date);
    dd_bytes_form(c->err, "daydrip chart: %s is about the dose due ", e->entry);
    say_moment(c, e->due, c->err);
    dd_bytes_form(c->err, ", the last such clock before it happened; for one given early\n   strike it and say --due \"%s\"\n", date);
}

/* ---- the work under the lock ---- */

typedef struct attempt {
    dd_chart *c;
    const script *said;
    dd_entry *entries;
    dd_append file;
    bool there;      /* chart.csv is there, and locked */
    const char *path, *like;
} attempt;

/* Every line in turn. False: some are wrong, and all of them were named. */
static bool read_entries(attempt *a, int *status)
{
    dd_chart *c = a->c;
    size_t wrong = a->said->wrong;
    for (size_t i = 0; i < a->said->count; i++) {
        const dd_chart_line *line = &a->said->lines[i];
        dd_entry *entry = &a->entries[i];
        dd_status end = dd_chart_words_read(c, line, entry) ? dd_entry_add(&c->entries, entry) : DD_CANNOT_READ;
        if (end == DD_BAD_INPUT)
            dd_chart_words_faults(c, line, entry);
        if (end == DD_NO_MEMORY || c->no_memory) {
            *status = no_memory(c->err);
            return false;
        }
        wrong += end != DD_OK;
    }
    if (wrong == 0 && a->said->count)
        return true;
    if (!c->source)
        dd_bytes_text(c->err, "         nothing was charted; daydrip chart --help says what can be said\n");
    else if (wrong == 0)
        dd_bytes_text(c->err, "daydrip chart: there is no entry in the text; nothing was charted\n");
    else
        dd_bytes_form(c->err, "%lu of %lu entries cannot be charted; nothing was charted\n", (unsigned long)wrong,
                      (unsigned long)(a->said->count + a->said->wrong));
    *status = c->entries.column_missing ? DD_EXIT_PLAN : DD_EXIT_USAGE;
    return false;
}

static int write_fault(attempt *a, dd_append_end end)
{
    int why = errno;
    int status = file_fault(a->c->err, a->path, end == DD_APPEND_BUSY ? "somebody else has had it locked for 30 s" : end == DD_APPEND_REPLACED ?
        "was saved by another program at the same moment" : strerror(why));
    dd_bytes_text(a->c->err, end == DD_APPEND_REPLACED ? "         look whether the entry is in it; if not, chart it again\n" : end == DD_APPEND_TORN ?
        "         nothing was charted; its last line may be cut off: look at it\n" : "         nothing was charted\n");
    return status;
}

static void charted(attempt *a, dd_bytes *out)
{
    dd_chart *c = a->c;
    for (size_t i = 0; i < a->said->count; i++) {
        say_charted(c, &a->entries[i], out);
        say_due(c, &a->entries[i], a->said->lines[i].words->value[DD_OPTION_DUE]);
    }
    if (c->entries.cut_line)
        dd_bytes_form(c->err, "chart.csv:%lu: this line was cut off while it was written and never charted. It stays an error until somebody has\n"
                      "   looked what happened, and completed or removed it\n", (unsigned long)c->entries.cut_line);
}

/* The moment for which it is said what changes: the clock, or, in a plan of another day, when the last entry happened. */
static bool changes_at(const attempt *a, const dd_plan *plan, dd_moment *now)
{
    *now = a->c->now;
    if (*now >= plan->begins && *now < plan->end)
        return true;
    *now = DD_NEVER;
    for (size_t i = 0; i < a->said->count; i++)
        if (a->entries[i].event.time > *now)
            *now = a->entries[i].event.time;
    return *now >= plan->begins && *now < plan->end;
}

/* A patient before the entries. */
typedef struct concerned {
    const dd_patient *patient;
    dd_patient was;
    dd_timeline before;
} concerned;

static bool is_about(const attempt *a, const dd_patient *p)
{
    for (size_t i = 0; i < a->said->count; i++)
        if (a->entries[i].patient == p)
            return true;
    return false;
}

/* What the entries change in the plan of each patient that they are about: the chart is read again, as it stands now, and both
 * timelines are held against each other. The entries stand already; where this cannot be worked out they stand without it. */
static void say_changes(attempt *a, dd_arena *arena, dd_bytes *out)
{
    const dd_plan *plan = dd_folder_plan(a->c->folder);
    concerned *list = dd_arena_take_many(arena, a->said->count + 1, sizeof *list);
    size_t count = 0;
    dd_moment now;
    if (!list || !dd_folder_usable(a->c->folder) || !changes_at(a, plan, &now))
        return;
    dd_moment known = a->c->now > now ? a->c->now : now;
    for (size_t i = 0; i < plan->patient_count; i++) {
        concerned *p = &list[count];
        if (!is_about(a, &plan->patients[i]) || plan->patients[i].errors)
            continue;
        *p = (concerned){.patient = &plan->patients[i], .was = plan->patients[i]};
        count += dd_timeline_make(plan, &p->was, now, known, arena, &p->before) == DD_OK;
    }
    if (dd_entry_chart_again(a->c->folder) != DD_OK) {
        dd_bytes_form(a->c->err, "daydrip: %s could not be read again to say what this changes; it is charted\n", a->path);
        return;
    }
    for (size_t i = 0; i < count; i++) {
        dd_timeline after;
        if (list[i].patient->errors || dd_timeline_make(plan, list[i].patient, now, known, arena, &after) != DD_OK)
            continue;
        if (dd_changes_write(&list[i].before, &after, out) != DD_OK)
            break;
    }
}

/* Reads the plan and adds to the chart. *again: another chart.csv took its place meanwhile. */
static int once(attempt *a, dd_arena *arena, dd_bytes *out, bool *again)
{
    dd_chart *c = a->c;
    dd_status status = dd_folder_read(folder_of(c->words), &c->folder);
    if (!c->folder)
        return no_memory(c->err);
    if (!dd_entry_possible(c->folder)) {
        dd_folder_show(c->folder, c->err);
        dd_bytes_text(c->err, "nothing was charted\n");
        return status == DD_CANNOT_READ || dd_folder_unreadable(c->folder) ? DD_EXIT_FILE : DD_EXIT_PLAN;
    }
    int exit_status = DD_EXIT_DONE;
    if (dd_entry_begin(&c->entries, c->folder) != DD_OK)
        return no_memory(c->err);
    if (!read_entries(a, &exit_status))
        return exit_status;
    const dd_bytes *rows = &c->entries.bytes;
    if (dd_arena_starved())
        return no_memory(c->err);
    dd_append_end end = a->there ? dd_append_add(&a->file, a->path, rows->data, rows->length)
                                 : dd_append_create(a->path, a->like, rows->data, rows->length);
    *again = end == DD_APPEND_AGAIN;
    if (*again)
        return DD_EXIT_DONE;
    if (end != DD_APPEND_DONE)
        return write_fault(a, end);
    charted(a, out);
    say_changes(a, arena, out);
    if (dd_entry_usable(c->folder))
        return DD_EXIT_DONE;
    dd_folder_show(c->folder, c->err);
    return dd_folder_unreadable(c->folder) ? DD_EXIT_FILE : DD_EXIT_PLAN;
}

/* The chart is locked before anything is read, so that keys rise and nothing is decided from what is no longer so. */
static int add(dd_chart *c, const script *said, dd_arena *arena, dd_bytes *out)
{
    const char *folder = folder_of(c->words);
    attempt a = {.c = c, .said = said, .path = dd_file_join(arena, folder, "chart.csv"), .like = dd_file_join(arena, folder, "patients.csv"),
                 .entries = dd_arena_take_many(arena, said->count + 1, sizeof *a.entries)};
    if (!a.path || !a.like || !a.entries)
        return no_memory(c->err);
    bool again = true;
    int status = DD_EXIT_DONE;
    size_t said_before = c->err->length;
    for (int tries = 0; again && tries < TRIES; tries++) {
        again = false;
        c->err->length = said_before;
        dd_append_end end = dd_append_open(&a.file, a.path);
        a.there = end == DD_APPEND_DONE;
        if (!a.there && end != DD_APPEND_ABSENT)
            return write_fault(&a, end);
        status = once(&a, arena, out, &again);
        dd_append_close(&a.file);
        if (c->folder) {
            dd_bytes_free(&c->entries.bytes);
            dd_folder_free(c->folder);
            c->folder = NULL;
        }
    }
    return again ? write_fault(&a, DD_APPEND_BUSY) : status;
}

int dd_chart_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_chart c = {.words = words, .source = words->value[DD_OPTION_FILE], .now = (dd_moment)time(NULL), .err = err};
    dd_chart_line own = {.words = words};
    script said = {.lines = &own, .count = 1};
    if (c.source && words->rest_count)
        return dd_words_wrong(err, words, "\"%.60s\": the entries come from --from; say either one entry or --from", words->rest[0]);
    if (c.source && (words->value[DD_OPTION_DUE] || words->value[DD_OPTION_NOTE]))
        return dd_words_wrong(err, words, "--due and --note belong to one entry: write them in its line");
    dd_arena *arena = dd_arena_new();
    if (!arena)
        return no_memory(err);
    if (c.source)
        said = (script){0};
    int status = c.source ? read_text(&c, &said, arena) : DD_EXIT_DONE;
    if (status == DD_EXIT_DONE)
        status = add(&c, &said, arena, out);
    for (size_t i = 0; c.source && i < said.count; i++)
        dd_words_free(&said.words[i]);
    dd_arena_free(arena);
    return status;
}
