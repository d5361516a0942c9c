#include "mdoc.h"

#include <stdbool.h>
#include <string.h>

void mdoc_plain(FILE *out, const char *text)
{
    for (const char *c = text; *c; c++) {
        if (*c == '-')
            fputs("\\-", out);
        else if (*c == '\\')
            fputs("\\e", out);
        else if (*c == '"')
            fputs("\\(dq", out);
        else if (*c == '\'')
            fputs("\\(aq", out);
        else if (*c == '`')
            fputs("\\(ga", out);
        else if (*c == '^')
            fputs("\\(ha", out);
        else if (*c == '~')
            fputs("\\(ti", out);
        else
            fputc(*c, out);
    }
}

void mdoc_prose(FILE *out, const char *text)
{
    while (*text) {
        const char *end = text;
        while (*end && !(end[0] == '.' && end[1] == ' '))
            end++;
        char sentence[2048];
        int length = (int)(end - text) + (*end == '.');
        snprintf(sentence, sizeof sentence, "%.*s", length, text);
        if (*sentence == '.')
            fputs("\\&", out);
        mdoc_plain(out, sentence);
        fputc('\n', out);
        text = *end ? end + 2 : end;
    }
}

static const char *const units[] = {
#define UNIT(id, text, dimension, size, spoken) text,
#include "daydrip/unit.def"
#undef UNIT
};

static bool is_unit(const char *text, size_t length)
{
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (strlen(units[i]) == length && strncmp(units[i], text, length) == 0)
            return true;
    return false;
}

void mdoc_phrase(FILE *out, const char *before, const char *text)
{
    size_t word = strspn(text, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ");
    char first[2] = {*text, '\0'};
    bool begins = !*before || before[strlen(before) - 1] == '\n';
    if (begins && *text >= 'a' && *text <= 'z' && !is_unit(text, word))
        first[0] = (char)(*text - 'a' + 'A');
    fputs(before, out);
    mdoc_plain(out, first);
    mdoc_plain(out, text + 1);
    fputs(".\n", out);
}

void mdoc_pattern(FILE *out, const char *before, const char *text)
{
    char line[1024];
    size_t n = 0;
    for (const char *c = text; *c && n + 8 < sizeof line; c++) {
        if (*c != '{') {
            line[n++] = *c;
            continue;
        }
        const char *shown = strncmp(c, "{value}", 7) == 0 ? "\"...\"" : "...";
        memcpy(line + n, shown, strlen(shown));
        n += strlen(shown);
        c += strcspn(c, "}");
    }
    line[n] = '\0';
    fputs(before, out);
    fputs(*before || *line != '.' ? "" : "\\&", out); /* a point in front would make it a macro */
    mdoc_plain(out, line);
    fputc('\n', out);
}

void mdoc_words(FILE *out, const char *words)
{
    for (const char *c = words; *c; c++)
        if (*c == ' ')
            fputs(", ", out);
        else if (*c == '-')
            fputs("\\-", out);
        else
            fputc(*c, out);
}

/* Where a line of text is best cut: at the last space that leaves at most 78 bytes, else the first there is. What follows must not look
 * like a macro, and a point at the end would be read as the end of a sentence. */
static size_t cut_of(const char *line, size_t length)
{
    size_t best = length;
    for (size_t i = 1; i + 1 < length && (i <= 78 || best == length); i++)
        if (line[i] == ' ' && line[i - 1] != ' ' && !strchr(" .'", line[i + 1]) && !strchr(".?!:", line[i - 1]))
            best = i;
    return best;
}

static void fold_text(FILE *out, const char *line, size_t length)
{
    while (length > 78) {
        size_t cut = cut_of(line, length), skip = cut < length;
        fprintf(out, "%.*s\n", (int)cut, line);
        line += cut + skip;
        length -= cut + skip;
        if (!skip)
            return;
    }
    fprintf(out, "%.*s\n", (int)length, line);
}

void mdoc_fold(FILE *out, const char *page)
{
    bool literal = false;
    for (size_t length; *page; page += length + (page[length] == '\n')) {
        length = strcspn(page, "\n");
        literal = strncmp(page, ".Bd -literal", 12) == 0 || (literal && strncmp(page, ".Ed", 3) != 0);
        if (!literal && *page != '.' && *page != '\'') {
            fold_text(out, page, length);
            continue;
        }
        for (size_t i = 0; i < length; i++) {
            fputc(page[i], out);
            if (page[i] == ',' && strncmp(page, ".Dl ", 4) == 0 && strncmp(page, ".Dl $", 5) != 0 && i + 1 < length && page[i + 1] != ' ')
                fputs("\\:", out);
        }
        fputc('\n', out);
    }
}
