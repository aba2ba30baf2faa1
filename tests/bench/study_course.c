#include "study_course.h"

#define LATE_DEG   150.0 /* where most growing values are stated */
#define SMOOTH_DEG 8.0   /* width of the blade's onset; our choice */
#define REST_S     2.0
#define PAUSE_S    0.5

/* ---- the movement in time ---- */

static double raise_s(const struct study_person *p)
{
    return p->body[STUDY_UP_S] + PAUSE_S + p->body[STUDY_DOWN_S];
}

static int raises(const struct study_person *p)
{
    return p->of.single ? 1 : STUDY_RAISES;
}

double study_duration_s(const struct study_person *p)
{
    return REST_S + raises(p) * raise_s(p);
}

/** 0 to 1 with the least jerk (Flash and Hogan 1985, J Neurosci 5:1688; from memory). */
static double eased(double x)
{
    x = fmin(fmax(x, 0.0), 1.0);
    return x * x * x * (10.0 + x * (6.0 * x - 15.0));
}

double study_arm_deg(const struct study_person *p, double time_s)
{
    double rest_deg = p->body[STUDY_REST_DEG], up_s = p->body[STUDY_UP_S];
    double since_s = fmax(time_s - REST_S, 0.0);
    int raise = (int)(since_s / raise_s(p));
    if (raise >= raises(p))
        return rest_deg;
    since_s -= raise * raise_s(p);
    double share = since_s < up_s + PAUSE_S
                       ? eased(since_s / up_s)
                       : 1.0 - eased((since_s - up_s - PAUSE_S) / p->body[STUDY_DOWN_S]);
    double top_deg = p->arc_deg + p->body[STUDY_TOP_1_DEG + raise];
    return rest_deg + share * (top_deg - rest_deg);
}

double study_top_deg(const struct study_person *p)
{
    double beyond_deg = p->body[STUDY_TOP_1_DEG];
    for (int raise = 1; raise < raises(p); raise++)
        beyond_deg = fmax(beyond_deg, p->body[STUDY_TOP_1_DEG + raise]);
    return p->arc_deg + beyond_deg;
}

/* ---- how much of everything at an angle of the arm ---- */

double study_grown(double arm_deg, double exponent)
{
    return pow(fmax(arm_deg, 0.0) / LATE_DEG, exponent);
}

double study_way(const struct study_person *p, double arm_deg)
{
    double rest_deg = p->body[STUDY_REST_DEG];
    return fmax((arm_deg - rest_deg) / (p->arc_deg - rest_deg), 0.0);
}

/** Nothing, then growing at one rate, with a soft corner. */
static double from_onset_deg(double arm_deg, double onset_deg)
{
    double x = (arm_deg - onset_deg) / SMOOTH_DEG;
    return SMOOTH_DEG * (x > 30.0 ? x : log1p(exp(x)));
}

double study_blade_deg(const struct study_person *p, double arm_deg)
{
    return p->share * from_onset_deg(arm_deg, p->setting_deg);
}

double study_rise_mm(const struct study_person *p, double arm_deg)
{
    double span_deg = LATE_DEG - p->setting_deg;
    return p->body[STUDY_RISE_MM] * from_onset_deg(arm_deg, p->setting_deg) / span_deg;
}

double study_hike_mm(const struct study_person *p, double arm_deg)
{
    if (!p->hikes)
        return 0.0;
    double share = (arm_deg - p->hike_onset_deg) / p->body[STUDY_HIKE_SPAN_DEG];
    return p->body[STUDY_HIKE_MM] * fmin(fmax(share, 0.0), 1.0);
}

double study_protraction_mm(const struct study_person *p, double arm_deg)
{
    static const double part[STUDY_MOVEMENTS] = {1.0, 0.5, 0.5, -0.5, 0.0, 0.0};
    return part[p->of.movement] * p->body[STUDY_PROTRACTION_MM] *
           study_grown(arm_deg, 1.0);
}

static double later(double share, double from)
{
    return fmax((share - from) / (1.0 - from), 0.0);
}

double study_lean_deg(const struct study_person *p, double arm_deg)
{
    return p->body[STUDY_LEAN_DEG] * later(study_way(p, arm_deg), p->body[STUDY_LEAN_AT]);
}

double study_bend_deg(const struct study_person *p, double arm_deg)
{
    return p->body[STUDY_BEND_DEG] * fmin(p->arc_deg / LATE_DEG, 1.0) *
           later(study_way(p, arm_deg), p->body[STUDY_BEND_AT]);
}
