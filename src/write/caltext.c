#include "caltext.h"

#include <string.h>

#include "utf8.h"

/* Characters that are valid but invisible, or that change how those around them read: a zero-width space, marks, embeddings,
 * overrides and isolates of direction, joiners of words, a byte order mark. Joiners of letters (U+200C, U+200D) stay: scripts
 * and emoji need them. */
static bool left_out(uint32_t code)
{
    return code == 0x061c || code == 0xfeff || code == 0x200b || code == 0x200e || code == 0x200f || (code >= 0x202a && code <= 0x202e)
        || (code >= 0x2060 && code <= 0x206f);
}

static bool plain(unsigned char c)
{
    return c >= 0x20 && c < 0x7f && c != '\\';
}

void dd_caltext_clean(dd_bytes *out, const char *text, size_t most, bool lines)
{
    size_t length = strlen(text), count = 0, last = out->length; /* `last`: where the last character written begins */
    for (size_t i = 0; i < length;) {
        size_t run = i;
        while (run < length && count + (run - i) < most && plain((unsigned char)text[run]))
            run++;
        if (run > i) { /* nearly all there is, in one piece */
            dd_bytes_add(out, text + i, run - i);
            count += run - i;
            last = out->length - 1;
            i = run;
            continue;
        }
        uint32_t code = 0;
        size_t bytes = dd_utf8_read(text + i, length - i, &code);
        const char *as = text + i;
        size_t as_length = bytes;
        if (bytes == 0) {
            bytes = 1;
            as = "\xef\xbf\xbd";
            as_length = 3;
        } else if (code == '\r' || code == '\n') {
            if (code == '\r' && i + 1 < length && text[i + 1] == '\n')
                bytes = 2;
            as = lines ? "\n" : " ";
            as_length = 1;
        } else if (code == '\t' || code == 0x2028 || code == 0x2029) {
            as = " ";
            as_length = 1;
        } else if (code == '\\') {
            as = "/";
        } else if (code < 0x20 || (code >= 0x7f && code < 0xa0)) {
            as = "?";
            as_length = 1;
        } else if (left_out(code)) {
            i += bytes;
            continue;
        }
        if (count == most) { /* there is more: the last character makes room for the mark */
            if (!out->failed) {
                out->length = last;
                dd_bytes_char(out, '~');
            }
            return;
        }
        last = out->length;
        dd_bytes_add(out, as, as_length);
        count++;
        i += bytes;
    }
}

void dd_caltext_fold(dd_bytes *out, const char *line, size_t length)
{
    size_t at = 0, room = DD_CALTEXT_LINE;
    while (length - at > room) {
        size_t end = at + room, slashes = 0;
        while (end > at && ((unsigned char)line[end] & 0xc0) == 0x80)
            end--;
        while (end - slashes > at && line[end - 1 - slashes] == '\\')
            slashes++;
        if (slashes % 2)
            end--;
        if (end == at) /* no such text comes from dd_caltext_clean, but the loop must end whatever comes */
            end = at + room;
        dd_bytes_add(out, line + at, end - at);
        dd_bytes_add(out, "\r\n ", 3);
        at = end;
        room = DD_CALTEXT_LINE - 1; /* the space counts */
    }
    dd_bytes_add(out, line + at, length - at);
    dd_bytes_add(out, "\r\n", 2);
}

/* Deletes every CR LF SP. One may stand inside a closing CR LF (CR, CR LF SP, LF), so what is left is not looked at again. */
static size_t unfolded(char *text, size_t length)
{
    size_t to = 0, from = 0;
    while (from < length) {
        const char *cr = memchr(text + from, '\r', length - from);
        size_t piece = cr ? (size_t)(cr - (text + from)) : length - from;
        memmove(text + to, text + from, piece);
        to += piece;
        from += piece;
        if (!cr)
            break;
        if (length - from >= 3 && text[from + 1] == '\n' && text[from + 2] == ' ')
            from += 3;
        else
            text[to++] = text[from++];
    }
    return to;
}

void dd_caltext_refold(dd_bytes *out, char *text, size_t length)
{
    size_t end = unfolded(text, length);
    for (size_t at = 0; at < end;) {
        const char *lf = memchr(text + at, '\n', end - at);
        size_t stop = lf ? (size_t)(lf - text) : end;
        size_t whole = stop > at && lf && text[stop - 1] == '\r' ? stop - 1 - at : stop - at;
        dd_caltext_fold(out, text + at, whole);
        at = lf ? stop + 1 : end;
    }
}
