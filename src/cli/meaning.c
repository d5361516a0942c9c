/* meaning.c - `explain CODE`: what a message or a finding means. */
#include <string.h>

#include "daydrip/timeline.h"
#include "show.h"
#include "verbs.h"

static const struct finding_row { const char *code, *severity, *rule, *sentence; } findings[] = {
#define FINDING(id, code, severity, rule, sentence) {code, #severity, rule, sentence},
#include "daydrip/finding.def"
};

#define WIDTH 72

/* Words folded at the page's width. */
static void fold(dd_bytes *out, const char *text)
{
    size_t column = 0;
    while (*text) {
        size_t length = strcspn(text, " ");
        if (column && column + 1 + length > WIDTH) {
            dd_bytes_char(out, '\n');
            column = 0;
        } else if (column) {
            dd_bytes_char(out, ' ');
            column++;
        }
        dd_bytes_add(out, text, length);
        column += length;
        text += length;
        while (*text == ' ')
            text++;
    }
    dd_bytes_char(out, '\n');
}

/* A message's text with words where a message would have its own: what was written, and what depends on it. */
static void fold_pattern(dd_bytes *out, const char *pattern)
{
    dd_bytes text = DD_BYTES(4096);
    for (const char *p = pattern; *p;) {
        bool value = strncmp(p, "{value}", 7) == 0, part = strncmp(p, "{1}", 3) == 0 || strncmp(p, "{2}", 3) == 0;
        if (value || part)
            dd_bytes_text(&text, value ? "\"...\"" : "...");
        else
            dd_bytes_char(&text, *p);
        p += value ? 7 : part ? 3 : 1;
    }
    if (text.data && strcmp(text.data, "...") != 0)
        fold(out, text.data);
    dd_bytes_free(&text);
}

int dd_meaning_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    if (words->rest_count != 1)
        return dd_words_wrong(err, words, "say one code, as it stands in brackets behind a message, such as number-comma");
    const char *code = words->rest[0];
    dd_message_id id = dd_show_find(code);
    if (id != DD_MSG_COUNT) {
        const dd_message_text *text = dd_show_text(id);
        dd_bytes_form(out, "%s\n", text->code);
        fold_pattern(out, text->what);
        fold_pattern(out, text->expected);
        dd_bytes_char(out, '\n');
        fold(out, text->manual);
        return DD_EXIT_DONE;
    }
    for (size_t i = 0; i < sizeof findings / sizeof *findings; i++)
        if (strcmp(findings[i].code, code) == 0) {
            dd_bytes_form(out, "%s, a finding: %s\n", code, findings[i].severity);
            fold(out, findings[i].sentence);
            if (*findings[i].rule)
                dd_bytes_form(out, "\nThe limit is the rule %s.\n", findings[i].rule);
            return DD_EXIT_DONE;
        }
    return dd_words_wrong(err, words, "no message and no finding has the code \"%.60s\"", code);
}
