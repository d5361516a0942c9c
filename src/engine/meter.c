#include "meter.h"

/* Every volume has passed the gate at 100 L, 3.6e11 u, and every rate at 10 L/h, 1e7 u/s; products here stay far below 64 bits. */
#define NO_END INT64_MAX

int64_t dd_meter_to_give(const dd_order *o)
{
    if (o->volume_ul == DD_UNKNOWN)
        return NO_END;
    int64_t give = o->volume_ul;
    if (o->prime_ul != DD_UNKNOWN && o->bag_ul != DD_UNKNOWN && o->bag_ul > 0) {
        int64_t bags = (o->volume_ul + o->bag_ul - 1) / o->bag_ul, most = bags * o->bag_ul - o->prime_ul;
        if (most < give)
            give = most;
    }
    give *= DD_U_PER_UL;
    if (o->given_u != DD_UNKNOWN)
        give -= o->given_u;
    return give > 0 ? give : 0;
}

static int64_t step_seconds(const dd_order *o, uint16_t step)
{
    return o->rate_kind == DD_RATE_STEPS && step + 1 < o->step_count ? o->steps[step].seconds : NO_END;
}

void dd_meter_begin(dd_meter *m, const dd_order *o, const dd_set_rate *rates, int32_t number)
{
    *m = (dd_meter){.order = o, .rates = rates, .to_go = dd_meter_to_give(o), .bag = number - 1, .bag_up = DD_NEVER};
    m->flush_left = o->flush_u != DD_UNKNOWN ? o->flush_u : 0;
    m->step_left = step_seconds(o, 0);
}

bool dd_meter_in_flush(const dd_meter *m)
{
    return m->to_go == 0 && m->flush_left > 0;
}

bool dd_meter_done(const dd_meter *m)
{
    return m->to_go == 0 && m->flush_left == 0;
}

dd_rate dd_meter_rate(const dd_meter *m)
{
    return m->rates[m->step].set;
}

static int64_t seconds_for(int64_t u, int64_t rate)
{
    return u == NO_END ? NO_END : (u + rate - 1) / rate;
}

int64_t dd_meter_next(const dd_meter *m)
{
    int64_t rate = dd_meter_rate(m).ul_per_h;
    if (rate == 0)
        return NO_END;
    if (dd_meter_in_flush(m))
        return seconds_for(m->flush_left, rate);
    int64_t next = seconds_for(m->bag_left < m->to_go ? m->bag_left : m->to_go, rate);
    return m->step_left < next ? m->step_left : next;
}

int64_t dd_meter_flow(dd_meter *m, int64_t seconds)
{
    int64_t flowed = dd_meter_rate(m).ul_per_h * seconds;
    if (dd_meter_in_flush(m)) {
        if (flowed > m->flush_left)
            flowed = m->flush_left;
        m->flush_left -= flowed;
        return flowed;
    }
    if (flowed > m->bag_left)
        flowed = m->bag_left;
    if (flowed > m->to_go)
        flowed = m->to_go;
    m->bag_left -= flowed;
    if (m->to_go != NO_END)
        m->to_go -= flowed;
    if (m->step_left != NO_END) {
        m->step_left -= seconds;
        if (m->step_left == 0 && m->to_go > 0) { /* a flush goes on at the rate that flowed last */
            m->step++;
            m->step_left = step_seconds(m->order, m->step);
        }
    }
    return flowed;
}

void dd_meter_hang(dd_meter *m, dd_moment at, int64_t *hung, int64_t *prime)
{
    const dd_order *o = m->order;
    bool found = m->bag_up == DD_NEVER && o->hanging_ul != DD_UNKNOWN, primes = m->bag_up == DD_NEVER && !found && o->prime_ul != DD_UNKNOWN;
    *prime = primes ? o->prime_ul * DD_U_PER_UL : 0;
    *hung = found ? o->hanging_u : o->bag_ul * DD_U_PER_UL;
    m->bag++;
    m->bag_left = *hung - *prime;
    m->bag_up = found && o->hung != DD_NEVER ? o->hung : at;
    m->bag_is_up = true;
}

dd_moment dd_meter_limit(const dd_meter *m)
{
    return m->bag_is_up && m->order->hang_s > 0 ? m->bag_up + m->order->hang_s : NO_END;
}

int64_t dd_meter_rest(const dd_meter *meter, dd_moment from)
{
    dd_meter m = *meter;
    const dd_order *o = m.order;
    if (m.to_go == NO_END)
        return NO_END;
    dd_moment at = from;
    int64_t hung, prime;
    while (!dd_meter_done(&m)) {
        bool flush = dd_meter_in_flush(&m), over = dd_meter_limit(&m) <= at;
        if (!flush && over && o->category == DD_CAT_BLOOD)
            break;
        if (!flush && (m.bag_left == 0 || over)) {
            dd_meter_hang(&m, at, &hung, &prime);
            if (m.bag_left <= 0)
                return NO_END; /* a bag that gives nothing; the gate refuses it */
        }
        int64_t next = dd_meter_next(&m);
        if (next == NO_END)
            return NO_END;
        if (!flush && dd_meter_limit(&m) - at < next)
            next = dd_meter_limit(&m) - at;
        dd_meter_flow(&m, next);
        at += next;
    }
    return at - from;
}

int64_t dd_meter_length(const dd_order *o, const dd_set_rate *rates)
{
    dd_meter m;
    dd_meter_begin(&m, o, rates, 1);
    return dd_meter_rest(&m, 0);
}
