/* complete.c - makes the completions of one shell from its template while the program is built: complete SHELL FOLDER FILE.
 *
 * FOLDER has daydrip.SHELL.in and column.awk. In a template a line that begins with @ stands for lines made from the program's own lists,
 * as below; @NAME@ inside a line stands for words:
 *
 *   @column.awk   that program
 *   @verbs        every verb and what it does (zsh, fish)
 *   @options      bash: what kind of word each verb takes, and its options; fish: every option
 *   @arguments    bash: what kind of word an option takes, where something can be offered
 *   @specs        zsh: what _arguments is told of each verb
 *   @words        fish: the verbs' own words
 *
 *   verbs, planned (those that take a plan folder), takes (options with an argument), events, figures, codes,
 *   regimens */
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "word_rows.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))
#define LINE_CEILING 4096

static const char *const events[] = {
#define EVENT(id, text, about, takes) text,
#include "daydrip/event.def"
#undef EVENT
};

static const char *const figures[] = {
#define FIGURE(id, name, about, which, what) name,
#include "daydrip/figure.def"
};

static const char *const codes[] = {
#define MESSAGE(id, code, what, expected, manual) code,
#include "message.def"
#undef MESSAGE
#define FINDING(id, code, severity, rule, sentence) code,
#include "daydrip/finding.def"
};

static const char *const regimens[] = {
#define REGIMEN(name, ...) name,
#include "regimen.def"
#undef REGIMEN
};

/* ---- what can be offered ---- */

/* The kind of word that an option takes: plan, folder, file, bed, team, zone; "words ..."; "" where nothing can be offered. */
static void kind_of_option(const struct option_row *o, char kind[128])
{
    static const char *const kinds[][2] = {{"DIR", "folder"}, {"FOLDER", "folder"}, {"FILE", "file"}, {"KEY", "bed"}, {"ZONE", "zone"}};
    *kind = '\0';
    for (size_t i = 0; i < COUNT(kinds); i++)
        if (strcmp(o->argument, kinds[i][0]) == 0)
            strcpy(kind, kinds[i][1]);
    if (strcmp(o->name, "team") == 0)
        strcpy(kind, "team");
    if (strstr(o->argument, ".ics"))
        strcpy(kind, "file");
    if (strchr(o->argument, '|') && !o->argument[strcspn(o->argument, "ABCDEFGHIJKLMNOPQRSTUVWXYZ")]) { /* capitals are not to be typed */
        snprintf(kind, 128, "words %s", o->argument);
        for (char *c = kind; *c; c++)
            if (*c == '|')
                *c = ' ';
    }
}

/* The kind of a verb's own words: plan, folder, file, regimen; chart, bed, code, record (several words); "" where nothing can be offered. */
static const char *kind_of_verb(const struct verb_row *v)
{
    static const char *const kinds[][2] = {{"[PLAN]", "plan"}, {"DIR", "folder"}, {"FILE", "file"}, {"CODE...", "code"}, {"FILE [PLAN]", "record"}};
    for (size_t i = 0; i < COUNT(kinds); i++)
        if (strcmp(v->after, kinds[i][0]) == 0)
            return kinds[i][1];
    if (strcmp(v->after, "BED...") == 0)
        return v->groups & CHART ? "chart" : "bed";
    if (v->groups & REGIMEN)
        return "regimen";
    return "";
}

/* ---- words inside a line ---- */

static void put_list(FILE *out, const char *const *list, size_t count)
{
    for (size_t i = 0; i < count; i++)
        fprintf(out, "%s%s", i ? " " : "", list[i]);
}

static void put_verbs(FILE *out, const char *kind, const char *between)
{
    const char *before = "";
    for (size_t i = 0; i < COUNT(verbs); i++)
        if (!kind || strcmp(kind_of_verb(&verbs[i]), kind) == 0) {
            fprintf(out, "%s%s", before, verbs[i].name);
            before = between;
        }
}

/* Each name once, though verbs may share it. */
static void put_takes(FILE *out, const char *between)
{
    const char *before = "";
    for (size_t i = 0; i < COUNT(options); i++) {
        bool again = !*options[i].argument;
        for (size_t k = 0; k < i; k++)
            again = again || strcmp(options[k].name, options[i].name) == 0;
        if (!again) {
            fprintf(out, "%s--%s", before, options[i].name);
            before = between;
        }
    }
}

static bool put_inside(FILE *out, const char *name, bool zsh)
{
    const char *between = zsh ? "|" : " ";
    if (strcmp(name, "verbs") == 0)
        put_verbs(out, NULL, " ");
    else if (strcmp(name, "planned") == 0)
        put_verbs(out, "plan", between);
    else if (strcmp(name, "recorded") == 0)
        put_verbs(out, "record", between);
    else if (strcmp(name, "takes") == 0)
        put_takes(out, between);
    else if (strcmp(name, "events") == 0)
        put_list(out, events, COUNT(events));
    else if (strcmp(name, "figures") == 0)
        put_list(out, figures, COUNT(figures));
    else if (strcmp(name, "regimens") == 0)
        put_list(out, regimens, COUNT(regimens));
    else if (strcmp(name, "codes") == 0)
        put_list(out, codes, COUNT(codes));
    else
        return false;
    return true;
}

/* ---- lines ---- */

/* Text inside single quotes: the two that read \ there escape with it, zsh leaves the quotes; brackets are zsh's own. */
static void put_quoted(FILE *out, const char *text, bool zsh)
{
    for (const char *c = text; *c; c++)
        if (*c == '\'')
            fputs(zsh ? "'\\''" : "\\'", out);
        else if (*c == '\\' || (zsh && strchr("[]:", *c)))
            fprintf(out, "\\%c", *c);
        else
            fputc(*c, out);
}

static bool takes(const struct verb_row *v, const struct option_row *o)
{
    return (o->groups & v->groups) != 0;
}

static void put_bash_options(FILE *out)
{
    for (size_t i = 0; i < COUNT(verbs); i++) {
        fprintf(out, "    %s) kind='%s' options='", verbs[i].name, kind_of_verb(&verbs[i]));
        const char *before = "";
        for (size_t k = 0; k < COUNT(options); k++)
            if (takes(&verbs[i], &options[k])) {
                fprintf(out, "%s--%s", before, options[k].name);
                before = " ";
            }
        fputs("' ;;\n", out);
    }
}

static void put_bash_arguments(FILE *out)
{
    for (size_t k = 0; k < COUNT(options); k++) {
        char kind[128];
        const char *before = "        ";
        kind_of_option(&options[k], kind);
        for (size_t i = 0; *kind && i < COUNT(verbs); i++)
            if (takes(&verbs[i], &options[k])) {
                fprintf(out, "%s%s/--%s", before, verbs[i].name, options[k].name);
                before = " | ";
            }
        if (*before == ' ' && before[1] == '|')
            fprintf(out, ") kind='%s' ;;\n", kind);
    }
}

static void put_zsh_verbs(FILE *out)
{
    for (size_t i = 0; i < COUNT(verbs); i++) {
        fprintf(out, "      '%s:", verbs[i].name);
        put_quoted(out, verbs[i].what, true);
        fputs("'\n", out);
    }
}

/* What zsh calls for a kind. */
static void put_zsh_action(FILE *out, const char *kind)
{
    if (strcmp(kind, "plan") == 0 || strcmp(kind, "folder") == 0)
        fputs("_files -/", out);
    else if (strcmp(kind, "file") == 0)
        fputs("_files", out);
    else if (strncmp(kind, "words ", 6) == 0)
        fprintf(out, "(%s)", kind + 6);
    else if (*kind)
        fprintf(out, "_daydrip_%s", kind);
    else
        fputc(' ', out);
}

static void put_zsh_specs(FILE *out)
{
    static const struct { const char *kind, *specs; } own[] = {
        {"plan", " '1:plan folder:_files -/'"}, {"folder", " '1:folder:_files -/'"}, {"file", " '1:file:_files'"},
        {"regimen", " '1:regimen:_daydrip_regimen'"},
        {"record", " '1:record:_files' '2:plan folder:_files -/'"},
        {"chart", " '1:bed:_daydrip_bed' '2:order or line:_daydrip_chart' '3:event:_daydrip_event' '*:value: '"},
        {"bed", " '1:bed:_daydrip_bed' '2:order:_daydrip_order' '*:code: '"},
        {"code", " '1:code or bed:_daydrip_code' '2:order or figure:_daydrip_about' '3:figure:_daydrip_figure' '*:which: '"},
    };
    for (size_t i = 0; i < COUNT(verbs); i++) {
        fprintf(out, "    (%s) specs=(", verbs[i].name);
        for (size_t k = 0; k < COUNT(options); k++) {
            const struct option_row *o = &options[k];
            char kind[128];
            if (!takes(&verbs[i], o))
                continue;
            kind_of_option(o, kind);
            fprintf(out, "\n      '%s--%s%s[", strcmp(o->argument, "KEY") == 0 ? "*" : "", o->name, *o->argument ? "=" : "");
            put_quoted(out, o->what, true);
            fputc(']', out);
            if (*o->argument) {
                fprintf(out, ":%s:", o->argument);
                put_zsh_action(out, kind);
            }
            fputc('\'', out);
        }
        for (size_t k = 0; k < COUNT(own); k++)
            if (strcmp(own[k].kind, kind_of_verb(&verbs[i])) == 0)
                fprintf(out, "\n     %s", own[k].specs);
        fputs(") ;;\n", out);
    }
}

static void put_fish_verbs(FILE *out)
{
    for (size_t i = 0; i < COUNT(verbs); i++) {
        fprintf(out, "complete -c daydrip -n __fish_is_first_arg -a %s -d '", verbs[i].name);
        put_quoted(out, verbs[i].what, false);
        fputs("'\n", out);
    }
}

static void put_fish_word(FILE *out, int before, const char *kind, const char *offer)
{
    fprintf(out, "complete -c daydrip -n '__daydrip_word %d ", before);
    put_verbs(out, kind, " ");
    fprintf(out, "' %s\n", offer);
}

static void put_fish_words(FILE *out)
{
    static const struct { int before; const char *kind, *offer; } own[] = {
        {0, "plan", "-a '(__fish_complete_directories)'"}, {0, "folder", "-a '(__fish_complete_directories)'"}, {0, "file", "-F"},
        {0, "record", "-F"}, {1, "record", "-a '(__fish_complete_directories)'"},
        {0, "chart", "-a '(__daydrip_column bed)'"}, {0, "bed", "-a '(__daydrip_column bed)'"}, {0, "code", "-a '(__daydrip_column bed)'"},
        {1, "chart", "-a 'intake output weighed (__daydrip_column order)'"}, {1, "bed", "-a '(__daydrip_column order)'"},
        {1, "code", "-a '(__daydrip_column order)'"},
    };
    for (size_t i = 0; i < COUNT(own); i++)
        for (size_t k = 0; k < COUNT(verbs); k++)
            if (strcmp(own[i].kind, kind_of_verb(&verbs[k])) == 0) {
                put_fish_word(out, own[i].before, own[i].kind, own[i].offer);
                break;
            }
    static const struct { int before; const char *kind; const char *const *list; size_t count; } listed[] = {
        {2, "chart", events, COUNT(events)}, {0, "code", codes, COUNT(codes)}, {0, "regimen", regimens, COUNT(regimens)},
        {1, "code", figures, COUNT(figures)}, {2, "code", figures, COUNT(figures)},
    };
    for (size_t i = 0; i < COUNT(listed); i++) {
        fprintf(out, "complete -c daydrip -n '__daydrip_word %d ", listed[i].before);
        put_verbs(out, listed[i].kind, " ");
        fputs("' -a '", out);
        put_list(out, listed[i].list, listed[i].count);
        fputs("'\n", out);
    }
}

static void put_fish_options(FILE *out)
{
    static const char *const offers[][2] = {
        {"", " -x"}, {"folder", " -x -a '(__fish_complete_directories)'"}, {"file", " -r -F"}, {"bed", " -x -a '(__daydrip_column bed)'"},
        {"team", " -x -a '(__daydrip_column team)'"}, {"zone", " -x -a '(string match -rv \"^#\" </usr/share/zoneinfo/zone.tab | string split -f 3 \\t)'"},
    };
    for (size_t k = 0; k < COUNT(options); k++) {
        const struct option_row *o = &options[k];
        char kind[128];
        kind_of_option(o, kind);
        fputs("complete -c daydrip -n '__daydrip_verb", out);
        for (size_t i = 0; i < COUNT(verbs); i++)
            if (takes(&verbs[i], o))
                fprintf(out, " %s", verbs[i].name);
        fprintf(out, "' -l %s", o->name);
        for (size_t i = 0; *o->argument && i < COUNT(offers); i++)
            if (strcmp(offers[i][0], kind) == 0)
                fputs(offers[i][1], out);
        if (strncmp(kind, "words ", 6) == 0)
            fprintf(out, " -x -a '%s'", kind + 6);
        fputs(" -d '", out);
        put_quoted(out, o->what, false);
        fputs("'\n", out);
    }
}

static bool put_file(FILE *out, const char *path)
{
    FILE *in = fopen(path, "r");
    char line[LINE_CEILING];
    if (!in)
        return false;
    while (fgets(line, sizeof line, in))
        fputs(line, out);
    return fclose(in) == 0;
}

/* A line that begins with @, without it. */
static bool put_lines(FILE *out, const char *name, const char *shell, const char *folder)
{
    static const struct { const char *shell, *name; void (*put)(FILE *out); } lines[] = {
        {"bash", "options", put_bash_options}, {"bash", "arguments", put_bash_arguments}, {"zsh", "verbs", put_zsh_verbs},
        {"zsh", "specs", put_zsh_specs}, {"fish", "verbs", put_fish_verbs}, {"fish", "words", put_fish_words},
        {"fish", "options", put_fish_options},
    };
    char path[LINE_CEILING];
    if (strcmp(name, "column.awk") == 0) {
        snprintf(path, sizeof path, "%s/%s", folder, name);
        return put_file(out, path);
    }
    for (size_t i = 0; i < COUNT(lines); i++)
        if (strcmp(lines[i].shell, shell) == 0 && strcmp(lines[i].name, name) == 0) {
            lines[i].put(out);
            return true;
        }
    return false;
}

/* ---- the file ---- */

/* Any other line: @NAME@ inside it, where NAME has only letters, stands for words. */
static bool put_line(FILE *out, const char *line, bool zsh)
{
    for (const char *c = line; *c; c++) {
        size_t length = *c == '@' ? strspn(c + 1, "abcdefghijklmnopqrstuvwxyz") : 0;
        char name[32];
        if (length == 0 || length >= sizeof name || c[length + 1] != '@') {
            fputc(*c, out);
            continue;
        }
        snprintf(name, sizeof name, "%.*s", (int)length, c + 1);
        if (!put_inside(out, name, zsh))
            return false;
        c += length + 1;
    }
    return true;
}

static bool put_template(FILE *out, const char *shell, const char *folder)
{
    char path[LINE_CEILING], line[LINE_CEILING];
    int number = 0;
    bool fine = true;
    snprintf(path, sizeof path, "%s/daydrip.%s.in", folder, shell);
    FILE *in = fopen(path, "r");
    if (!in) {
        perror(path);
        return false;
    }
    while (fine && fgets(line, sizeof line, in)) {
        number++;
        if (line[0] == '@') {
            line[strcspn(line, "\n")] = '\0';
            fine = put_lines(out, line + 1, shell, folder);
        } else {
            fine = put_line(out, line, strcmp(shell, "zsh") == 0);
        }
        if (!fine)
            fprintf(stderr, "%s:%d: no list of the program has this: %s\n", path, number, line);
    }
    fine = fine && !ferror(in);
    fclose(in);
    return fine;
}

int main(int argc, char **argv)
{
    if (argc != 4) {
        fputs("complete SHELL FOLDER FILE\n", stderr);
        return 2;
    }
    FILE *out = fopen(argv[3], "w");
    if (!out) {
        perror(argv[3]);
        return 4;
    }
    bool fine = put_template(out, argv[1], argv[2]);
    if (fclose(out) != 0 || !fine) {
        fprintf(stderr, "%s: not made\n", argv[3]);
        remove(argv[3]);
        return 4;
    }
    return 0;
}
