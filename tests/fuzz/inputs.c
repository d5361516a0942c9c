/* inputs.c - stands in for src/edge/file.c: a folder of a few names and their bytes. */
#include "inputs.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "file.h"

static struct { char name[64]; const char *bytes; size_t length; } files[DD_INPUTS_MOST];
static size_t count;
static long minutes;

static const struct { const char *name, *text; } usual[] = {
    {"ward.csv", "setting,value\nward,Larkfield\nplan,0f3c1c9e-6f2f-4a55-9a53-3f8d6d0c5b11\ntimezone,Europe/London\nbegins,2026-11-25 07:00\n"},
    {"patients.csv", "patient,bed,age,weight,weighed,allergies,allowance\n"
                     "p1,bay1-bed1,7 years,20 kg,2026-11-25 06:00,none,1500 mL/day\n"
                     "p2,bay1-bed2,60 years,70 kg,2026-11-25 06:00,penicillin,\n"},
    {"lines.csv", "patient,line,kind\np1,left-arm,peripheral\np1,neck,central\np1,tube,enteral\np2,left-arm,peripheral\n"},
    {"orders.csv", "patient,order,fluid,line,rate,volume,bag\n"
                   "p1,main,glucose-5-nacl-0.9,left-arm,60 mL/h,,500 mL\n"
                   "p2,main,nacl-0.9,left-arm,80 mL/h,1 L,\n"},
};

void dd_inputs_clear(void)
{
    count = 0;
}

void dd_inputs_add(const char *name, const char *bytes, size_t length)
{
    if (count == DD_INPUTS_MOST || strlen(name) >= sizeof files->name)
        return;
    memcpy(files[count].name, name, strlen(name) + 1);
    files[count].bytes = bytes;
    files[count++].length = length;
}

static int find(const char *name)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(files[i].name, name) == 0)
            return (int)i;
    return -1;
}

/* One section: its heading without the `== `, and what stands below. */
static void section(const char *head, size_t head_length, const char *text, size_t length)
{
    char name[64];
    size_t n = 0;
    while (n < head_length && n + 1 < sizeof name && head[n] != ' ' && head[n] != '/') {
        name[n] = head[n];
        n++;
    }
    name[n] = '\0';
    bool absent = n + 7 == head_length && memcmp(head + n, " absent", 7) == 0;
    if (strcmp(name, "minutes") == 0) {
        for (size_t i = 0; i < length && i < 6 && text[i] >= '0' && text[i] <= '9'; i++)
            minutes = minutes * 10 + (text[i] - '0');
        return;
    }
    if (n < 5 || strcmp(name + n - 4, ".csv") != 0)
        return;
    int there = find(name);
    if (there >= 0) {
        files[there] = files[--count];
    }
    if (!absent)
        dd_inputs_add(name, text, length);
}

void dd_inputs_set(const char *text, size_t length)
{
    const char *end = text + length, *head = NULL, *body = NULL;
    size_t head_length = 0;
    count = 0;
    minutes = 0;
    for (size_t i = 0; i < sizeof usual / sizeof *usual; i++)
        dd_inputs_add(usual[i].name, usual[i].text, strlen(usual[i].text));
    for (const char *line = text; line < end;) {
        const char *feed = memchr(line, '\n', (size_t)(end - line)), *next = feed ? feed + 1 : end;
        if (end - line > 3 && memcmp(line, "== ", 3) == 0) {
            if (head)
                section(head, head_length, body, (size_t)(line - body));
            head = line + 3;
            head_length = (size_t)((feed ? feed : end) - head);
            body = next;
        }
        line = next;
    }
    if (head)
        section(head, head_length, body, (size_t)(end - body));
}

long dd_inputs_minutes(void)
{
    return minutes;
}

/* ---- in place of src/edge/file.c ---- */

char *dd_file_join(dd_arena *arena, const char *folder, const char *name)
{
    size_t a = strlen(folder), b = strlen(name);
    char *path = dd_arena_take(arena, a + b + 2);
    if (!path)
        return NULL;
    memcpy(path, folder, a);
    path[a] = '/';
    memcpy(path + a + 1, name, b);
    return path;
}

dd_file_end dd_file_read(const char *path, size_t ceiling, dd_arena *arena, char **bytes, size_t *length)
{
    const char *slash = strrchr(path, '/');
    int i = find(slash ? slash + 1 : path);
    if (i < 0)
        return DD_FILE_ABSENT;
    if (files[i].length > ceiling)
        return DD_FILE_TOO_LARGE;
    /* A copy, so that reading behind its end is seen. */
    *bytes = dd_arena_text(arena, files[i].bytes, files[i].length);
    *length = files[i].length;
    return *bytes ? DD_FILE_READ : DD_FILE_NO_MEMORY;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

dd_status dd_file_list(const char *folder, dd_arena *arena, const char ***names, size_t *found)
{
    (void)folder;
    const char **list = dd_arena_take_many(arena, count + 1, sizeof *list);
    if (!list)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < count; i++)
        list[i] = files[i].name;
    qsort(list, count, sizeof *list, by_name);
    *names = list;
    *found = count;
    return DD_OK;
}

dd_status dd_file_write(const char *path, const char *bytes, size_t length, bool keep_mode)
{
    (void)path, (void)bytes, (void)length, (void)keep_mode;
    errno = EROFS;
    return DD_CANNOT_WRITE;
}

void dd_file_abandon(void)
{
}
