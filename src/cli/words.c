#include "words.h"

#include <glib.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "daydrip/status.h"
#include "help.h"

static const char *const verb_names[] = {
#define VERB(id, name, after, groups, everyday, what) name,
#include "verb.def"
#undef VERB
};

static const int verb_groups[] = {
#define VERB(id, name, after, groups, everyday, what) ALL | (groups),
#include "verb.def"
#undef VERB
};

static const struct option_row { const char *name, *argument; int verbs; } options[] = {
#define OPTION(id, name, argument, verbs, what) {name, argument, verbs},
#include "option.def"
#undef OPTION
};

const char *dd_words_verb_name(dd_verb verb)
{
    return verb_names[verb];
}

int dd_words_wrong(dd_bytes *err, const dd_words *words, const char *format, ...)
{
    char text[1024];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    for (char *c = text; *c; c++)
        if ((unsigned char)*c < 0x20 || *c == 0x7f)
            *c = '?';
    dd_bytes_form(err, "daydrip: %s\n", text);
    if (words->verb < DD_VERB_COUNT)
        dd_bytes_form(err, "         daydrip %s --help says what can be asked\n", verb_names[words->verb]);
    else
        dd_bytes_text(err, "         daydrip --help says what can be asked\n");
    return DD_EXIT_USAGE;
}

/* A flag given becomes "", an option not given stays NULL. All texts are taken as bytes (FILENAME): no locale is asked. */
static bool read_options(int *argc, char ***argv, dd_words *w, dd_bytes *err)
{
    GOptionEntry entries[DD_OPTION_COUNT + 1];
    gboolean flags[DD_OPTION_COUNT] = {0};
    size_t n = 0;
    memset(entries, 0, sizeof entries);
    for (int i = 0; i < DD_OPTION_COUNT; i++) {
        if (!(options[i].verbs & verb_groups[w->verb]))
            continue;
        GOptionEntry *e = &entries[n++];
        e->long_name = options[i].name;
        if (i == DD_OPTION_PATIENT) {
            e->arg = G_OPTION_ARG_FILENAME_ARRAY;
            e->arg_data = &w->patients;
        } else if (*options[i].argument) {
            e->arg = G_OPTION_ARG_FILENAME;
            e->arg_data = &w->value[i];
        } else {
            e->arg = G_OPTION_ARG_NONE;
            e->arg_data = &flags[i];
        }
    }
    GOptionContext *context = g_option_context_new(NULL);
    GError *error = NULL;
    g_option_context_set_help_enabled(context, FALSE);
    g_option_context_add_main_entries(context, entries, NULL);
    bool fine = g_option_context_parse(context, argc, argv, &error);
    if (!fine) {
        w->exit_status = dd_words_wrong(err, w, "%s", error->message);
        g_error_free(error);
    }
    for (int i = 0; i < DD_OPTION_COUNT; i++)
        if (flags[i])
            w->value[i] = g_strdup("");
    g_option_context_free(context);
    return fine;
}

static bool find_verb(const char *name, dd_words *w)
{
    for (int i = 0; i < DD_VERB_COUNT; i++)
        if (strcmp(verb_names[i], name) == 0) {
            w->verb = (dd_verb)i;
            return true;
        }
    return false;
}

bool dd_words_read(int argc, char **argv, dd_words *w, dd_bytes *out, dd_bytes *err)
{
    *w = (dd_words){.verb = DD_VERB_COUNT, .exit_status = DD_EXIT_DONE};
    if (argc < 2) {
        dd_help_all(err);
        w->exit_status = DD_EXIT_USAGE;
        return false;
    }
    if (strcmp(argv[1], "--help") == 0) {
        dd_help_all(out);
        return false;
    }
    if (strcmp(argv[1], "--version") == 0) {
        dd_help_version(out);
        return false;
    }
    if (!find_verb(argv[1], w)) {
        w->exit_status = dd_words_wrong(err, w, "no verb \"%.60s\"", argv[1]);
        return false;
    }
    int count = argc - 1;
    char **list = g_strdupv(argv + 1), **kept = g_memdup2(list, (gsize)(count + 1) * sizeof *list);
    bool fine = read_options(&count, &kept, w, err);
    w->rest = fine ? g_new0(char *, (gsize)count + 1) : NULL;
    for (int i = 1; fine && i < count; i++)
        if (strcmp(kept[i], "--") != 0)
            w->rest[w->rest_count++] = g_strdup(kept[i]);
    g_free(kept);
    g_strfreev(list);
    if (!fine)
        return false;
    if (w->value[DD_OPTION_HELP]) {
        dd_help_verb(w->verb, out);
        return false;
    }
    if (w->value[DD_OPTION_VERSION]) {
        dd_help_version(out);
        return false;
    }
    return true;
}

void dd_words_free(dd_words *w)
{
    for (int i = 0; i < DD_OPTION_COUNT; i++)
        g_free(w->value[i]);
    g_strfreev(w->patients);
    g_strfreev(w->rest);
}
