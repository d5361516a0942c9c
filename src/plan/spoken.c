#include "spoken.h"

#include <string.h>

#include "catalogue.h"

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static const char *past_blanks(const char *text)
{
    return text + strspn(text, " \t");
}

/* Behind the words, where the text begins with them as whole words; blanks in either do not count. NULL: it does not. */
static const char *behind(const char *text, const char *words)
{
    for (;; text++, words++) {
        text = past_blanks(text);
        words = past_blanks(words);
        if (!*words)
            return *text == '\0' || strchr(" \t+,", text[-1]) || strchr(" \t+,", *text) ? text : NULL;
        if (lower(*text) != lower(*words))
            return NULL;
    }
}

bool dd_spoken_is(const char *text, const char *words)
{
    const char *rest = behind(text, words);
    return rest && *past_blanks(rest) == '\0';
}

/* The fluid whose words the text begins with: the one with most of it. */
static const char *find_fluid(const dd_folder *f, const char *text, const char **rest)
{
    const char *key = NULL;
    *rest = text;
    for (size_t i = 0; i < f->plan.fluid_count; i++) {
        const char *end = f->fluids[i].words ? behind(text, f->fluids[i].words) : NULL;
        if (end && end > *rest) {
            key = f->fluids[i].key;
            *rest = end;
        }
    }
    return key;
}

static const char *find_additive(const char *text, const char **rest)
{
    const char *key = NULL;
    *rest = text;
    for (size_t i = 0; i < dd_catalogue_additive_count; i++) {
        const char *end = behind(text, dd_catalogue_additives[i].words);
        if (end && end > *rest) {
            key = dd_catalogue_additives[i].key;
            *rest = end;
        }
    }
    return key;
}

/* Behind a word that joins what is added; NULL: there is none here. */
static const char *joined(const char *text)
{
    static const char *const words[] = {"with ", "and ", "plus ", "+", ","};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strncmp(text, words[i], strlen(words[i])) == 0)
            return past_blanks(text + strlen(words[i]));
    return NULL;
}

/* Where the next thing that is added begins, or the end. */
static const char *next_join(const char *text)
{
    while (*text && !(text[0] == ' ' && joined(text + 1)) && *text != '+' && *text != ',')
        text++;
    return text;
}

static void add_trimmed(dd_bytes *out, const char *text, const char *end)
{
    while (end > text && (end[-1] == ' ' || end[-1] == '\t'))
        end--;
    dd_bytes_add(out, text, (size_t)(end - text));
}

/* What `potassium chloride` is in tables; *text goes behind it. Nothing where the text does not begin with such words. */
static void add_name(dd_bytes *out, const char **text)
{
    const char *rest, *key = find_additive(*text, &rest);
    if (key) {
        dd_bytes_text(out, key);
        dd_bytes_char(out, ' ');
        *text = rest;
    }
}

static bool add_additives(const char *text, dd_bytes *out)
{
    while (*text) {
        const char *part = joined(text);
        if (!part)
            return false;
        dd_bytes_text(out, " + ");
        add_name(out, &part);
        const char *end = next_join(part), *stop = end;
        if (stop - part > 8 && memcmp(stop - 8, " per bag", 8) == 0)
            stop -= 8;
        add_trimmed(out, part, stop);
        text = past_blanks(end);
    }
    return true;
}

bool dd_spoken_mixture(const dd_folder *f, const char *text, dd_bytes *out)
{
    const char *rest, *key = find_fluid(f, text, &rest);
    if (!key) { /* what is in it stands first */
        const char *in = strstr(text, " in ");
        key = in ? find_fluid(f, past_blanks(in + 4), &rest) : NULL;
        if (!key)
            return false;
        add_name(out, &text);
        if (text < in)
            add_trimmed(out, text, in);
        dd_bytes_text(out, " in ");
    }
    dd_bytes_text(out, key);
    return add_additives(past_blanks(rest), out) && !out->failed;
}
