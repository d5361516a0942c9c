/* regimen_verb.c - `regimen`: which there are, or one of them worked out as a page, as rows, or as orders. */
#include <string.h>

#include "nearest.h"
#include "regimen_words.h"
#include "session.h"
#include "verbs.h"

/* They must not be lost where no page is printed. */
static void say_remark(void *to, const char *label, const char *words)
{
    dd_bytes *err = to;
    dd_bytes_form(err, "daydrip regimen: %s: ", label);
    for (; *words != '\0'; words++)
        dd_bytes_char(err, *words == '\x1f' ? ' ' : *words);
    dd_bytes_char(err, '\n');
}

/* The list goes where it cannot be taken for rows. */
static int no_source(dd_asked *a, const dd_regimen *regimen, const char *source, dd_bytes *list)
{
    dd_regimen_list(regimen, list);
    if (source != NULL) {
        dd_nearest nearest = dd_nearest_begin(source, strlen(source));
        for (size_t i = 0; i < regimen->edition_count; i++)
            dd_nearest_offer(&nearest, regimen->editions[i].name, strlen(regimen->editions[i].name));
        dd_asked_wrong(a, "--source", source, "is no edition of %s%s%s%s\n    expected one of the list, such as --source \"%s\"", regimen->name,
            nearest.best != NULL ? "; the nearest is \"" : "", nearest.best != NULL ? nearest.best : "", nearest.best != NULL ? "\"" : "",
            regimen->editions[0].name);
    } else {
        dd_asked_wrong(a, "--source", NULL, "not given, and there is no default edition\n    expected one of the list, such as --source \"%s\"", regimen->editions[0].name);
    }
    return dd_asked_end(a);
}

static int no_name(dd_asked *a, const char *name, dd_bytes *list)
{
    if (name == NULL) {
        dd_regimen_names(list);
        dd_bytes_text(list, "END OF LIST\n");
        dd_asked_wrong(a, "NAME", NULL, "not given\n    expected one of the list, such as rehydration-c");
        return dd_asked_end(a);
    }
    dd_nearest nearest = dd_nearest_begin(name, strlen(name));
    for (size_t i = 0; i < dd_regimen_count; i++)
        dd_nearest_offer(&nearest, dd_regimens[i].name, strlen(dd_regimens[i].name));
    dd_asked_wrong(a, "NAME", name, "is no regimen\n    expected %s%s", nearest.best != NULL ? "perhaps " : "a name such as rehydration-c; daydrip regimen lists them",
        nearest.best != NULL ? nearest.best : "");
    return dd_asked_end(a);
}

/* What only rows of orders need is not to be typed for nothing. */
static void check_alone(dd_asked *a, const dd_words *words)
{
    static const struct { dd_option option; const char *name; } only[] = {
        {DD_OPTION_WHOSE, "--patient"}, {DD_OPTION_LINE, "--line"}, {DD_OPTION_RUNS, "--fluid"}, {DD_OPTION_ALSO_RUNS, "--maintenance-fluid"},
        {DD_OPTION_BEGIN, "--start"}, {DD_OPTION_EACH_BAG, "--bag"},
    };
    for (size_t i = 0; i < sizeof only / sizeof *only; i++)
        if (words->value[only[i].option] != NULL)
            dd_asked_wrong(a, only[i].name, words->value[only[i].option], "has no meaning without --as-orders\n    expected both, or neither");
}

int dd_regimen_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_asked a = {.verb = "regimen", .err = err};
    dd_session s = {.words = words, .out = out, .err = err};
    const char *format = words->value[DD_OPTION_FORMAT], *source = words->value[DD_OPTION_SOURCE];
    if (format && strcmp(format, "text") != 0 && strcmp(format, "csv") != 0)
        return dd_words_wrong(err, words, "--format \"%.60s\": expected text or csv", format);
    if (words->rest_count > 1)
        return dd_words_wrong(err, words, "\"%.60s\" belongs to no option; a name of several words stands in quotes", words->rest[1]);
    bool orders = words->value[DD_OPTION_AS_ORDERS] != NULL, rows = orders || (format && strcmp(format, "csv") == 0);
    const char *name = words->rest_count > 0 ? words->rest[0] : NULL;
    const dd_regimen *regimen = name != NULL ? dd_regimen_find(name) : NULL;
    if (regimen == NULL)
        return no_name(&a, name, rows ? err : out);
    if (source == NULL || (!regimen->free && dd_regimen_edition_find(regimen, source) == NULL))
        return no_source(&a, regimen, source, rows ? err : out);
    dd_regimen_ask ask;
    if (!orders)
        check_alone(&a, words);
    if (!dd_regimen_read(&a, regimen, words, &ask))
        return dd_asked_end(&a);
    if (rows && !dd_regimen_remarks(&ask, say_remark, err))
        out->failed = true;
    if (orders) {
        if (!dd_regimen_orders(&a, &ask, out))
            return dd_asked_end(&a);
    } else if (rows) {
        dd_regimen_rows(&ask, out);
    } else {
        dd_regimen_page(&ask, out);
    }
    dd_session_deliver(&s);
    return s.exit_status;
}
