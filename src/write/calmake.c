#include "calmake.h"

#include <libical/ical.h>
#include <string.h>

#include "arena.h"
#include "caltext.h"
#include "shared.h"

/* Every function of libical that is called, once; its type is that of libical's header. */
#define FUNCTIONS(F) \
    F(error_set_errors_are_fatal) F(memory_free_buffer) F(time_null_time) F(timezone_get_utc_timezone) F(triggertype_from_int) \
    F(component_new) F(component_free) F(component_add_component) F(component_add_property) F(component_as_ical_string_r) \
    F(property_new_action) F(property_new_categories) F(property_new_description) F(property_new_dtend) F(property_new_dtstamp) \
    F(property_new_dtstart) F(property_new_lastmodified) F(property_new_sequence) F(property_new_status) F(property_new_summary) \
    F(property_new_transp) F(property_new_trigger) F(property_new_uid)

struct dd_calmake {
#define MEMBER(name) __typeof__(ical##name) *name;
    FUNCTIONS(MEMBER)
#undef MEMBER
};

dd_status dd_calmake_open(dd_calmake **maker, char *why, size_t room)
{
    *maker = NULL;
    void *library = dd_shared_open(DD_LIBICAL, why, room);
    dd_calmake *m = library ? dd_arena_allocator(NULL, sizeof *m) : NULL;
    if (!m)
        return library ? DD_NO_MEMORY : DD_CANNOT_READ;
#define BOUND(name) && dd_shared_bind(library, "ical" #name, &m->name, why, room)
    bool good = true FUNCTIONS(BOUND);
#undef BOUND
    if (!good) {
        dd_calmake_free(m);
        return DD_CANNOT_READ;
    }
    m->error_set_errors_are_fatal(0); /* a library must not end the program */
    *maker = m;
    return DD_OK;
}

void dd_calmake_free(dd_calmake *m)
{
    if (m)
        dd_arena_allocator(m, 0);
}

static icaltimetype utc(const dd_calmake *m, dd_moment t)
{
    static const dd_zone_span span = {INT64_MIN, 0};
    static const dd_zone zone = {"UTC", &span, 1, INT64_MIN, INT64_MAX};
    dd_civil c = dd_moment_local(&zone, t);
    icaltimetype ical = m->time_null_time();
    ical.year = c.year;
    ical.month = c.month;
    ical.day = c.day;
    ical.hour = c.hour;
    ical.minute = c.minute;
    ical.second = c.second;
    ical.is_date = 0;
    ical.zone = m->timezone_get_utc_timezone();
    return ical;
}

static bool put(const dd_calmake *m, icalcomponent *component, icalproperty *property)
{
    if (!property)
        return false;
    m->component_add_property(component, property);
    return true;
}

/* The event's VEVENT, or NULL where memory ran out. Whoever gets it frees it. */
static icalcomponent *component_of(const dd_calmake *m, const dd_calendar_event *e, const char *alarm_text)
{
    icalcomponent *event = m->component_new(ICAL_VEVENT_COMPONENT);
    if (!event)
        return NULL;
    enum icalproperty_status state = e->state == DD_CALENDAR_CANCELLED ? ICAL_STATUS_CANCELLED : ICAL_STATUS_CONFIRMED;
    bool good = put(m, event, m->property_new_uid(e->uid)) && put(m, event, m->property_new_dtstamp(utc(m, e->last_modified)))
        && put(m, event, m->property_new_lastmodified(utc(m, e->last_modified))) && put(m, event, m->property_new_sequence(e->sequence))
        && put(m, event, m->property_new_status(state)) && put(m, event, m->property_new_dtstart(utc(m, e->start)))
        && put(m, event, m->property_new_dtend(utc(m, e->end))) && put(m, event, m->property_new_summary(e->title))
        && put(m, event, m->property_new_description(e->text)) && put(m, event, m->property_new_categories(e->category))
        && put(m, event, m->property_new_transp(ICAL_TRANSP_TRANSPARENT));
    if (good && e->lead_s != DD_CALENDAR_NO_ALARM) {
        icalcomponent *alarm = m->component_new(ICAL_VALARM_COMPONENT);
        good = alarm != NULL;
        if (good) {
            m->component_add_component(event, alarm);
            good = put(m, alarm, m->property_new_action(ICAL_ACTION_DISPLAY))
                && put(m, alarm, m->property_new_trigger(m->triggertype_from_int((int)-e->lead_s)))
                && put(m, alarm, m->property_new_description(alarm_text));
        }
    }
    if (!good) {
        m->component_free(event);
        return NULL;
    }
    return event;
}

bool dd_calmake_append(const dd_calmake *m, dd_bytes *out, const dd_calendar_event *e, const char *alarm_text)
{
    icalcomponent *event = component_of(m, e, alarm_text);
    if (!event)
        return false;
    char *text = m->component_as_ical_string_r(event);
    m->component_free(event);
    if (!text)
        return false;
    dd_caltext_refold(out, text, strlen(text));
    m->memory_free_buffer(text);
    return !out->failed;
}
