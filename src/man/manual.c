/* manual.c - makes a page of the manual from its template while the program is built: manual TEMPLATE PAGE.
 *
 * A template is mdoc, written by hand. A line that begins with @ stands for something that the program's own lists say:
 *
 *   @synopsis          a line for each verb
 *   @verb NAME         what a verb does; the hand-written part follows
 *   @takes NAME        which options it takes
 *   @verbs             both, for the verbs that the template does not name
 *   @options           every option, what it does and which verbs take it
 *   @exit NAME         the number of an exit status
 *   @tables            every table: needed or not, and what one row is
 *   @table NAME        the same of one, with the columns that make a row unique
 *   @columns NAME      its columns, in the order in which they are published
 *   @units @events @fluids @additives @rules @figures @regimens
 *                      what can be written, and what is built in
 *   @messages CODE     the messages from CODE on, up to the next such line
 *   @finding CODE      one finding; @findings those that the template does not name */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "column.h"
#include "daydrip/quantity.h"
#include "daydrip/status.h"
#include "mdoc.h"
#include "regimen.h"
#include "word_rows.h"

#define TEMPLATE_CEILING (1U << 18)
#define COUNT(list) (sizeof(list) / sizeof *(list))

static char template[TEMPLATE_CEILING + 2]; /* begins with a newline of ours, so that a line can be searched for */

/* ---- the lists ---- */

static const struct exit_row { const char *name; int number; } exits[] = {
    {"DONE", DD_EXIT_DONE}, {"CLARIFY", DD_EXIT_CLARIFY}, {"USAGE", DD_EXIT_USAGE}, {"PLAN", DD_EXIT_PLAN}, {"FILE", DD_EXIT_FILE},
};

enum { OPTIONAL, REQUIRED, ABOVE = 0, ZERO = 1 };

static const struct table_row { const char *name; int need; const char *key, *about; } tables[] = {
#define TABLE(id, name, need, key, about) {name, need, key, about},
#define COLUMN(table, id, name, type, need, most, takes, zero, words, expected, about)
#include "column.def"
};

static const struct column_row {
    const char *table, *name;
    dd_column_type type;
    unsigned most;
    int need, zero;
    const char *words, *expected, *about;
} columns[] = {
#define TABLE(id, name, need, key, about)
#define COLUMN(table, id, name, kind, need, most, takes, zero, words, expected, about) \
    {#table, name, DD_TYPE_##kind, most, need, zero, words, expected, about},
#include "column.def"
};

static const struct unit_row { const char *text; dd_dimension dimension; } units[] = {
#define UNIT(id, text, dimension, size, spoken) {text, dimension},
#include "daydrip/unit.def"
#undef UNIT
};

static const struct event_row { const char *name, *about, *takes; } events[] = {
#define EVENT(id, text, about, takes) {text, #about, #takes},
#include "daydrip/event.def"
#undef EVENT
};

static const struct pair_row { const char *key, *words; } fluids[] = {
#define FLUID(key, words, ...) {key, words},
#include "fluid.def"
};

static const struct pair_row additives[] = {
#define ADDITIVE(key, words, ...) {key, words},
#include "additive.def"
};

static const struct rule_row { const char *name, *purpose; } rules[] = {
#define RULE_NAME(id, name, kind, looser, purpose) {name, purpose},
#include "daydrip/rule.def"
};

static const struct limit_row { const char *name, *applies, *value, *severity, *source, *note; } limits[] = {
#define RULE(id, name, applies, value, severity, evidence, source, note) {name, applies, value, #severity, source, note},
#include "daydrip/rule.def"
};

static const struct message_row { const char *code, *what, *expected, *manual; } messages[] = {
#define MESSAGE(id, code, what, expected, manual) {code, what, expected, manual},
#include "message.def"
#undef MESSAGE
};

static const struct finding_row { const char *code, *severity, *rule, *sentence; } findings[] = {
#define FINDING(id, code, severity, rule, sentence) {code, #severity, rule, sentence},
#include "daydrip/finding.def"
};

/* Whether the template has the line `@MARKER NAME`. */
static bool named(const char *marker, const char *name)
{
    char line[128];
    snprintf(line, sizeof line, "\n@%s %s\n", marker, name);
    return strstr(template, line) != NULL;
}

/* ---- the command ---- */

/* The words behind a verb, `FILE [PLAN]`, as macros with `before` and `behind` each. */
static void put_after(FILE *out, const char *after, const char *before, const char *behind)
{
    const char *may = strchr(after, '[');
    int must = may ? (int)(may - after) : (int)strlen(after);
    if (must)
        fprintf(out, "%sAr %.*s%s", before, may ? must - 1 : must, after, behind);
    if (may)
        fprintf(out, "%sOp Ar %.*s%s", before, (int)strcspn(may + 1, "]"), may + 1, behind);
}

static bool put_synopsis(FILE *out, const char *argument)
{
    (void)argument;
    for (size_t i = 0; i < COUNT(verbs); i++) {
        fprintf(out, ".Nm\n.Cm %s\n", verbs[i].name);
        put_after(out, verbs[i].after, ".", "\n");
        fputs(".Op Ar options\n", out);
    }
    return true;
}

static const struct verb_row *find_verb(const char *name)
{
    for (size_t i = 0; i < COUNT(verbs); i++)
        if (strcmp(verbs[i].name, name) == 0)
            return &verbs[i];
    return NULL;
}

static bool put_verb(FILE *out, const char *name)
{
    const struct verb_row *v = find_verb(name);
    if (!v)
        return false;
    fprintf(out, ".It Cm %s", v->name);
    put_after(out, v->after, " ", "");
    fputc('\n', out);
    mdoc_phrase(out, "Gives ", v->what);
    return true;
}

static bool put_takes(FILE *out, const char *name)
{
    const struct verb_row *v = find_verb(name);
    const struct option_row *last = NULL;
    bool any = false;
    if (!v)
        return false;
    for (size_t i = 0; i <= COUNT(options); i++) {
        if (i < COUNT(options) && ((options[i].groups & ALL) || !(options[i].groups & v->groups)))
            continue;
        if (last) {
            fputs(any ? "" : ".Pp\nOptions:\n", out);
            any = true;
            fputs(".Fl -", out);
            mdoc_plain(out, last->name);
            fputs(i < COUNT(options) ? " ,\n" : " .\n", out);
        }
        last = i < COUNT(options) ? &options[i] : NULL;
    }
    return true;
}

static bool put_verbs(FILE *out, const char *argument)
{
    (void)argument;
    for (size_t i = 0; i < COUNT(verbs); i++)
        if (!named("verb", verbs[i].name)) {
            put_verb(out, verbs[i].name);
            put_takes(out, verbs[i].name);
        }
    return true;
}

static bool put_options(FILE *out, const char *argument)
{
    (void)argument;
    for (size_t i = 0; i < COUNT(options); i++) {
        const struct option_row *o = &options[i];
        fputs(".It Fl -", out);
        mdoc_plain(out, o->name);
        fprintf(out, *o->argument ? " Ar %s\n" : "%s\n", o->argument);
        mdoc_phrase(out, "", o->what);
        if (o->groups & ALL)
            continue;
        fputs("Verbs:", out);
        const char *before = " ";
        for (size_t k = 0; k < COUNT(verbs); k++)
            if (verbs[k].groups & o->groups) {
                fprintf(out, "%s%s", before, verbs[k].name);
                before = ", ";
            }
        fputs(".\n", out);
    }
    return true;
}

static bool put_exit(FILE *out, const char *name)
{
    for (size_t i = 0; i < COUNT(exits); i++)
        if (strcmp(exits[i].name, name) == 0)
            return fprintf(out, ".It %d\n", exits[i].number) > 0;
    return false;
}

/* ---- the tables ---- */

static bool put_tables(FILE *out, const char *argument)
{
    (void)argument;
    for (size_t i = 0; i < COUNT(tables); i++) {
        fprintf(out, ".It Pa %s.csv%s\n", tables[i].name, tables[i].need ? " No (needed)" : "");
        mdoc_phrase(out, "One row is ", tables[i].about);
    }
    return true;
}

static bool put_table(FILE *out, const char *name)
{
    for (size_t i = 0; i < COUNT(tables); i++) {
        const struct table_row *t = &tables[i];
        if (strcmp(t->name, name) != 0)
            continue;
        fprintf(out, ".Ss %s.csv\n", t->name);
        mdoc_phrase(out, "One row is ", t->about);
        fputs(t->need ? "The table is needed.\n" : "The table may be left out.\n", out);
        if (*t->key) {
            fputs(strchr(t->key, ' ') ? "Unique together: " : "Unique: ", out);
            mdoc_words(out, t->key);
            fputs(".\n", out);
        }
        return true;
    }
    return false;
}

/* Whether the id of column.def, in capitals, is the table `name`. */
static bool same_table(const char *id, const char *name)
{
    for (; *id && *name; id++, name++)
        if (*id != *name && *id != *name - 'a' + 'A')
            return false;
    return !*id && !*name;
}

static void put_column(FILE *out, const struct column_row *c)
{
    fprintf(out, ".It Va %s%s\n", c->name, c->need == REQUIRED ? " No (needed)" : "");
    mdoc_phrase(out, "", c->about);
    if (c->type == DD_TYPE_WORD) {
        fputs("Write one of ", out);
        mdoc_words(out, c->words);
        fputs(".\n", out);
    } else if (strcmp(c->expected, c->about) != 0) {
        mdoc_phrase(out, "Write ", c->expected);
    }
    if (c->type == DD_TYPE_TEXT)
        fprintf(out, "At most %u bytes.\n", c->most);
    if (c->zero == ZERO)
        fputs("0 may stand here.\n", out);
}

static bool put_columns(FILE *out, const char *name)
{
    bool any = false;
    for (size_t i = 0; i < COUNT(columns); i++)
        if (same_table(columns[i].table, name)) {
            fputs(any ? "" : ".Bl -tag -width Ds\n", out);
            put_column(out, &columns[i]);
            any = true;
        }
    fputs(any ? ".El\n" : "", out);
    return any;
}

/* ---- what can be written, and what is built in ---- */

static bool put_units(FILE *out, const char *argument)
{
    static const char *const kinds[] = {
        [DD_DIM_VOLUME] = "volume", [DD_DIM_MASS] = "mass", [DD_DIM_MOLE] = "amount of substance", [DD_DIM_CHARGE] = "charge of ions",
        [DD_DIM_ACTIVITY] = "activity of a drug", [DD_DIM_TIME] = "time", [DD_DIM_AGE] = "age, beside those of time", [DD_DIM_DROPS] = "drops",
        [DD_DIM_OSMOLE] = "osmoles", [DD_DIM_PERCENT] = "share",
    };
    (void)argument;
    for (size_t d = 1; d < COUNT(kinds); d++) {
        const char *before = "";
        fprintf(out, ".It %s\n", kinds[d]);
        for (size_t i = 0; i < COUNT(units); i++)
            if (units[i].dimension == d) {
                fprintf(out, "%s%s", before, units[i].text);
                before = ", ";
            }
        fputc('\n', out);
    }
    return true;
}

static bool put_events(FILE *out, const char *argument)
{
    static const struct { const char *id, *words; } said[] = {
        {"ORDER", "About an order"}, {"LINE", "About a line"}, {"PATIENT", "About the patient"}, {"ENTRY", "About an earlier entry"},
        {"NOTHING", "no value"}, {"FLOW", "the value is a rate"}, {"VOLUME_OR_NOTHING", "the value is the volume of the new bag, or blank"},
        {"READING", "the value is a reading such as given 437 mL or left 120 mL"},
        {"SITE", "the value is clean, red, swollen, painful or leaking"}, {"MEASURE", "the value is a volume, grams, or unmeasured"},
        {"WEIGHT", "the value is a weight"},
    };
    (void)argument;
    for (size_t i = 0; i < COUNT(events); i++) {
        fputs(".It ", out);
        mdoc_plain(out, events[i].name);
        const char *before = "\n";
        for (size_t k = 0; k < COUNT(said); k++)
            if (strcmp(said[k].id, events[i].about) == 0 || strcmp(said[k].id, events[i].takes) == 0) {
                fprintf(out, "%s%s", before, said[k].words);
                before = "; ";
            }
        fputs(".\n", out);
    }
    return true;
}

static bool put_pairs(FILE *out, const struct pair_row *pairs, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        fputs(".It ", out);
        mdoc_plain(out, pairs[i].key);
        fputc('\n', out);
        mdoc_plain(out, pairs[i].words);
        fputc('\n', out);
    }
    return true;
}

static bool put_fluids(FILE *out, const char *argument)
{
    (void)argument;
    return put_pairs(out, fluids, COUNT(fluids));
}

static bool put_additives(FILE *out, const char *argument)
{
    (void)argument;
    return put_pairs(out, additives, COUNT(additives));
}

static void put_limit(FILE *out, const struct limit_row *l)
{
    fputs(".br\n", out);
    mdoc_plain(out, *l->applies ? l->applies : "everything");
    fputs(": ", out);
    mdoc_plain(out, l->value);
    if (strcmp(l->severity, "NONE") != 0)
        fprintf(out, ", %s", l->severity);
    mdoc_phrase(out, ".\n", l->source);
    if (*l->note)
        mdoc_phrase(out, "Note: ", l->note);
}

static bool put_rules(FILE *out, const char *argument)
{
    (void)argument;
    for (size_t i = 0; i < COUNT(rules); i++) {
        fputs(".It Cm ", out);
        mdoc_plain(out, rules[i].name);
        mdoc_phrase(out, "\n", rules[i].purpose);
        for (size_t k = 0; k < COUNT(limits); k++)
            if (strcmp(limits[k].name, rules[i].name) == 0)
                put_limit(out, &limits[k]);
    }
    return true;
}

static bool put_figures(FILE *out, const char *argument)
{
    static const struct { const char *name, *about, *which, *what; } figures[] = {
#define FIGURE(id, name, about, which, what) {name, #about, #which, what},
#include "daydrip/figure.def"
    };
    static const char *const whiches[][2] = {{"TIME", " Op Ar TIME"}, {"PERIOD", " Op Ar PERIOD"}, {"NUMBER", " Ar N"}, {"DOSE", " Ar DUE"}};
    (void)argument;
    for (size_t i = 0; i < COUNT(figures); i++) {
        fputs(strcmp(figures[i].about, "ORDER") == 0 ? ".It Ar ORDER Li " : strcmp(figures[i].about, "LINE") == 0 ? ".It Ar LINE Li " : ".It Li ", out);
        mdoc_plain(out, figures[i].name);
        for (size_t k = 0; k < COUNT(whiches); k++)
            if (strcmp(whiches[k][0], figures[i].which) == 0)
                fputs(whiches[k][1], out);
        mdoc_phrase(out, "\n", figures[i].what);
    }
    return true;
}

/* Each regimen and its editions, with their sources. */
static bool put_regimens(FILE *out, const char *argument)
{
    (void)argument;
    for (size_t i = 0; i < dd_regimen_count; i++) {
        const dd_regimen *r = &dd_regimens[i];
        fputs(".It Li ", out);
        mdoc_plain(out, r->name);
        mdoc_phrase(out, "\n", r->what);
        for (size_t k = 0; k < r->edition_count; k++) {
            char line[600];
            snprintf(line, sizeof line, "%s: %s", r->editions[k].name, r->editions[k].source);
            mdoc_phrase(out, "", line);
        }
    }
    return true;
}

/* ---- messages and findings ---- */

static void put_code(FILE *out, const char *code)
{
    fputs(".Ss ", out);
    mdoc_plain(out, code);
    fputc('\n', out);
}

static bool put_messages(FILE *out, const char *first)
{
    size_t i = 0;
    while (i < COUNT(messages) && strcmp(messages[i].code, first) != 0)
        i++;
    if (i == COUNT(messages) || !named("messages", messages[0].code))
        return false;
    do {
        const struct message_row *m = &messages[i++];
        put_code(out, m->code);
        fputs(".Bd -ragged -offset indent -compact\n", out);
        mdoc_pattern(out, "", m->what);
        if (strcmp(m->expected, "{1}") != 0 && strcmp(m->expected, "{2}") != 0)
            mdoc_pattern(out, ".br\nexpected ", m->expected);
        fputs(".Ed\n.Pp\n", out);
        mdoc_prose(out, m->manual);
    } while (i < COUNT(messages) && !named("messages", messages[i].code));
    return true;
}

static bool put_finding(FILE *out, const char *code)
{
    for (size_t i = 0; i < COUNT(findings); i++) {
        const struct finding_row *f = &findings[i];
        if (strcmp(f->code, code) != 0)
            continue;
        put_code(out, f->code);
        fprintf(out, "%s: ", f->severity);
        mdoc_phrase(out, "", f->sentence);
        if (*f->rule) {
            fputs("The limit is the rule\n.Cm ", out);
            mdoc_plain(out, f->rule);
            fputs(" .\n", out);
        }
        fputs(named("finding", code) ? ".Pp\n" : "", out);
        return true;
    }
    return false;
}

static bool put_findings(FILE *out, const char *argument)
{
    (void)argument;
    for (size_t i = 0; i < COUNT(findings); i++)
        if (!named("finding", findings[i].code))
            put_finding(out, findings[i].code);
    return true;
}

/* ---- the page ---- */

static const struct marker { const char *name; bool (*put)(FILE *out, const char *argument); } markers[] = {
    {"synopsis", put_synopsis}, {"verb", put_verb}, {"takes", put_takes}, {"verbs", put_verbs}, {"options", put_options}, {"exit", put_exit},
    {"tables", put_tables}, {"table", put_table}, {"columns", put_columns}, {"units", put_units}, {"events", put_events},
    {"fluids", put_fluids}, {"additives", put_additives}, {"rules", put_rules}, {"messages", put_messages}, {"finding", put_finding},
    {"findings", put_findings}, {"figures", put_figures}, {"regimens", put_regimens},
};

/* One line that begins with @, without it. */
static bool put_marker(FILE *out, const char *line)
{
    const char *space = strchr(line, ' ');
    size_t length = space ? (size_t)(space - line) : strlen(line);
    for (size_t i = 0; i < COUNT(markers); i++)
        if (strlen(markers[i].name) == length && strncmp(markers[i].name, line, length) == 0)
            return markers[i].put(out, space ? space + 1 : "");
    return false;
}

/* The template is searched whole for what it names, so each line is copied before it is cut. */
static bool put_page(FILE *out, const char *path)
{
    int number = 0;
    for (const char *c = template + 1; *c; c += strcspn(c, "\n"), c += *c == '\n') {
        char line[2048];
        snprintf(line, sizeof line, "%.*s", (int)strcspn(c, "\n"), c);
        number++;
        if (line[0] != '@') {
            fprintf(out, "%s\n", line);
        } else if (!put_marker(out, line + 1)) {
            fprintf(stderr, "%s:%d: no list of the program has this: %s\n", path, number, line);
            return false;
        }
    }
    return true;
}

int main(int argc, char **argv)
{
    if (argc != 3) {
        fputs("manual TEMPLATE PAGE\n", stderr);
        return 2;
    }
    char *page = NULL;
    size_t size = 0;
    FILE *in = fopen(argv[1], "r"), *made = in ? open_memstream(&page, &size) : NULL;
    template[0] = '\n';
    size_t length = made ? fread(template + 1, 1, TEMPLATE_CEILING, in) : 0;
    bool fine = made && length < TEMPLATE_CEILING && !ferror(in) && put_page(made, argv[1]);
    fine = made && fclose(made) == 0 && fine;
    FILE *out = fine ? fopen(argv[2], "w") : NULL;
    if (out)
        mdoc_fold(out, page);
    fine = out && fclose(out) == 0;
    if (in)
        fclose(in);
    free(page);
    if (!fine) {
        fprintf(stderr, "%s: not made of %s\n", argv[2], argv[1]);
        remove(argv[2]);
    }
    return fine ? 0 : 4;
}
