#include "zone.h"

#include <glib.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DAY INT64_C(86400)
#define SPANS_MOST 4096

/* An IANA name: `Area/Place` of letters, digits, _ + -, or one of the few without an area. Offsets (+02:00, UTC-5) and POSIX
 * strings (EST5EDT,M3.2.0) would be taken by GLib or the C library and mean something else than people think. */
static bool is_name(const char *name)
{
    size_t length = strlen(name);
    if (length < 2 || length > 60 || !g_ascii_isalpha(name[0]) || strstr(name, ".."))
        return false;
    bool slash = false, digit = false;
    for (size_t i = 0; i < length; i++) {
        char c = name[i];
        if (c == '/') {
            if (i + 1 == length || name[i + 1] == '/')
                return false;
            slash = true;
        } else if (g_ascii_isdigit(c)) {
            digit = true;
        } else if (!g_ascii_isalpha(c) && c != '_' && c != '-' && c != '+') {
            return false;
        }
    }
    if (slash)
        return strncmp(name, "posix/", 6) != 0 && strncmp(name, "right/", 6) != 0;
    return !digit && !strchr(name, '+') && (!strchr(name, '-') || strcmp(name, "GB-Eire") == 0 || strcmp(name, "NZ-CHAT") == 0
        || strcmp(name, "W-SU") == 0);
}

/* Intervals are numbered in time order. */
static int interval_at(GTimeZone *zone, dd_moment t)
{
    return g_time_zone_find_interval(zone, G_TIME_TYPE_UNIVERSAL, t);
}

/* The first second in (low, high] that belongs to another interval than `low`. GLib goes through all intervals for every answer, so
 * few are asked for: clocks mostly change 52 or 53 weeks after the last change but one. */
static dd_moment change(GTimeZone *zone, dd_moment low, dd_moment high, dd_moment last_but_one)
{
    int at_low = interval_at(zone, low);
    for (int weeks = 52; weeks <= 53; weeks++) {
        dd_moment guess = last_but_one + weeks * 7 * DAY;
        if (guess > low && guess <= high && interval_at(zone, guess - 1) == at_low && interval_at(zone, guess) != at_low)
            return guess;
    }
    while (high - low > 1) {
        dd_moment middle = low + (high - low) / 2;
        if (interval_at(zone, middle) == at_low)
            low = middle;
        else
            high = middle;
    }
    return high;
}

#define FOLDERS 4

/* Where zones are, in the order in which GLib looks; NULL: none there. */
static const char *folder_at(size_t i)
{
    static const char *const folders[FOLDERS] = {NULL, "/usr/share/zoneinfo", "/usr/lib/zoneinfo", "/usr/share/lib/zoneinfo"};
    return i == 0 ? getenv("TZDIR") : folders[i];
}

/* Beside the zones lie files that are none, as leapseconds; GLib complains of them on standard error. */
static bool is_zone_file(const char *name)
{
    char path[1024], head[4];
    for (size_t i = 0; i < FOLDERS; i++) {
        if (!folder_at(i))
            continue;
        snprintf(path, sizeof path, "%s/%s", folder_at(i), name);
        FILE *file = fopen(path, "re");
        if (!file)
            continue;
        bool good = fread(head, 1, sizeof head, file) == sizeof head && memcmp(head, "TZif", sizeof head) == 0;
        fclose(file);
        return good;
    }
    return false;
}

dd_zone_end dd_zone_read(const char *name, dd_moment around, dd_arena *arena, dd_zone *out)
{
    if (!is_name(name))
        return DD_ZONE_FORM;
    if (!is_zone_file(name))
        return DD_ZONE_NOT_KNOWN;
    GTimeZone *zone = g_time_zone_new_identifier(name);
    if (!zone)
        return DD_ZONE_NOT_KNOWN;
    if (strcmp(g_time_zone_get_identifier(zone), name) != 0) {
        g_time_zone_unref(zone);
        return DD_ZONE_NOT_KNOWN;
    }
    dd_zone result = {.covers_from = around - DD_ZONE_YEARS * 366 * DAY, .covers_to = around + DD_ZONE_YEARS * 366 * DAY};
    dd_zone_span *spans = NULL;
    size_t count = 0, room = 0;
    dd_moment at = result.covers_from, changed[2] = {at, at}; /* the last two changes, the later one second */
    int last = interval_at(zone, result.covers_to);
    bool good = dd_arena_room(arena, &spans, &room, count, sizeof *spans);
    if (good)
        spans[count++] = (dd_zone_span){at, g_time_zone_get_offset(zone, interval_at(zone, at))};
    while (good && interval_at(zone, at) != last) {
        at = change(zone, at, result.covers_to, changed[0]);
        changed[0] = changed[1];
        changed[1] = at;
        int32_t offset = g_time_zone_get_offset(zone, interval_at(zone, at));
        if (offset == spans[count - 1].offset)
            continue; /* only its name or its being summer time changed */
        good = count < SPANS_MOST && dd_arena_room(arena, &spans, &room, count, sizeof *spans);
        if (good)
            spans[count++] = (dd_zone_span){at, offset};
    }
    g_time_zone_unref(zone);
    result.name = good ? dd_arena_text(arena, name, strlen(name)) : NULL;
    if (!result.name)
        return DD_ZONE_NO_MEMORY;
    result.spans = spans;
    result.count = count;
    *out = result;
    return DD_ZONE_READ;
}

/* First line of a small text file. */
static bool first_line(const char *path, char *out, size_t room)
{
    FILE *file = fopen(path, "re");
    if (!file)
        return false;
    bool good = fgets(out, room > 1024 ? 1024 : (int)room, file);
    fclose(file);
    if (good)
        out[strcspn(out, "\r\n")] = '\0';
    return good && out[0];
}

void dd_zone_data_version(char *out, size_t room)
{
    char line[128], path[256];
    for (size_t i = 0; i < FOLDERS; i++) {
        const char *folder = folder_at(i);
        if (!folder)
            continue;
        snprintf(path, sizeof path, "%s/tzdata.zi", folder);
        if (first_line(path, line, sizeof line) && strncmp(line, "# version ", 10) == 0) {
            snprintf(out, room, "%.*s", 15, line + 10);
            return;
        }
        snprintf(path, sizeof path, "%s/+VERSION", folder);
        if (first_line(path, line, sizeof line)) {
            snprintf(out, room, "%.*s", 15, line);
            return;
        }
    }
    snprintf(out, room, "unknown");
}
