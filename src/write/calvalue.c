#include "calvalue.h"

#include <string.h>

#include "calendar.h"

static bool whole_number(const char *text, size_t length, int64_t most, int64_t *out)
{
    int64_t value = 0;
    if (length == 0 || length > 10)
        return false;
    for (size_t i = 0; i < length; i++) {
        if (text[i] < '0' || text[i] > '9')
            return false;
        value = value * 10 + (text[i] - '0');
    }
    *out = value;
    return value <= most;
}

const char *dd_calvalue_moment(const char *text, size_t length, dd_moment *out)
{
    int64_t year, month, day, hour, minute, second;
    if (length != 16 || text[8] != 'T' || text[15] != 'Z' || !whole_number(text, 4, 9999, &year) || !whole_number(text + 4, 2, 99, &month)
        || !whole_number(text + 6, 2, 99, &day) || !whole_number(text + 9, 2, 99, &hour) || !whole_number(text + 11, 2, 99, &minute)
        || !whole_number(text + 13, 2, 99, &second))
        return "a time in UTC such as 20261125T080000Z is expected";
    if (!dd_moment_date_exists((int)year, (int)month, (int)day))
        return "no such date";
    if (hour > 23 || minute > 59 || second > 59)
        return "no such time of day";
    *out = dd_moment_days((int)year, (int)month, (int)day) * 86400 + hour * 3600 + minute * 60 + second;
    return NULL;
}

/* Days, `T`, hours, minutes, seconds, in this order and at least one (RFC 5545, 3.3.6); the sum in seconds. */
static bool read_parts(const char *text, size_t length, int64_t *out)
{
    static const char units[] = "DHMS";
    static const int64_t sizes[] = {86400, 3600, 60, 1};
    enum { DAYS, HOURS, MINUTES, SECONDS };
    size_t next = DAYS; /* the first unit that may still come */
    bool clock = false, any = false;
    int64_t sum = 0;
    for (size_t i = 0; i < length;) {
        if (text[i] == 'T' && !clock) {
            clock = true;
            any = false; /* a part must follow */
            next = HOURS;
            i++;
            continue;
        }
        size_t from = i;
        while (i < length && text[i] >= '0' && text[i] <= '9')
            i++;
        int64_t value;
        const char *unit = i < length ? memchr(units, text[i], sizeof units - 1) : NULL;
        if (!unit || !whole_number(text + from, i - from, 100000000, &value))
            return false;
        size_t which = (size_t)(unit - units);
        if (which < next || (which > DAYS) != clock || (which == SECONDS && next == MINUTES)) /* no seconds behind hours */
            return false;
        sum += value * sizes[which];
        next = which + 1;
        any = true;
        i++;
    }
    *out = sum;
    return any;
}

const char *dd_calvalue_lead(const char *text, size_t length, int64_t *out)
{
    size_t sign = length > 0 && text[0] == '-';
    int64_t sum;
    if (length == sign || text[sign] != 'P' || !read_parts(text + sign + 1, length - sign - 1, &sum))
        return "a length of time such as -PT15M is expected";
    if ((!sign && sum != 0) || sum % 60 != 0 || sum > DD_CALENDAR_LEAD_MAX)
        return "the alarm is not whole minutes before, and at most a day";
    *out = sum;
    return NULL;
}

const char *dd_calvalue_sequence(const char *text, size_t length, int32_t *out)
{
    int64_t value;
    if (!whole_number(text, length, INT32_MAX, &value))
        return "a whole number is expected";
    *out = (int32_t)value;
    return NULL;
}

const char *dd_calvalue_uid(const char *text, size_t length)
{
    bool good = length == 36;
    for (size_t i = 0; good && i < 36; i++) {
        if (i == 8 || i == 13 || i == 18 || i == 23)
            good = text[i] == '-';
        else
            good = (text[i] >= '0' && text[i] <= '9') || (text[i] >= 'a' && text[i] <= 'f');
    }
    return good && text[14] == '5' && memchr("89ab", text[19], 4) ? NULL : "a UUID of version 5 in lower case is expected";
}

const char *dd_calvalue_text(const char *text, size_t length, dd_bytes *out, dd_calvalue_place *place)
{
    dd_bytes_clear(out);
    *place = (dd_calvalue_place){0, 0};
    if (length == 0)
        return "an empty text";
    size_t plain = 0; /* where the stretch begins that is taken as it stands */
    for (size_t i = 0; i < length; i++) {
        if (text[i] == ',')
            return "a comma without a backslash before it";
        if (text[i] == ';')
            return "a semicolon without a backslash before it";
        if (text[i] != '\\')
            continue;
        dd_bytes_add(out, text + plain, i - plain);
        char next = i + 1 < length ? text[i + 1] : '\0';
        if (next == 'n' || next == 'N')
            dd_bytes_char(out, '\n');
        else if (next == '\\' || next == ',' || next == ';')
            dd_bytes_char(out, next);
        else {
            *place = (dd_calvalue_place){i, i + 1 < length ? 2 : 1};
            return "an unknown escape";
        }
        i++;
        plain = i + 1;
    }
    dd_bytes_add(out, text + plain, length - plain);
    return NULL;
}
