/* Who takes part in the study: values drawn by lot from the seed. */
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <string.h>

#include "omogon/text.h"

#include "study_body.h"

enum law { NORMAL, UNIFORM };

struct spread {
    const char *name;
    enum law law;
    double a, b;
};

#define SPREAD(name, law, a, b, source) [STUDY_##name] = {#name, law, a, b},
static struct spread body_spreads[] = {STUDY_BODY_SPREADS(SPREAD)};
static struct spread set_up_spreads[] = {STUDY_SET_UP_SPREADS(SPREAD)};

#define STIFF_BELOW      0.3
#define HIKES_BELOW      0.5
#define HIKE_EARLIEST    35.0 /* deg */
#define HIKE_BEFORE_ARC  15.0 /* deg */
#define ARC_MIN_DEG      40.0
#define ARC_MAX_DEG      172.0
#define EXTENSION_MIN    30.0 /* deg */
#define EXTENSION_MAX    60.0
#define ROTATION_MIN     10.0 /* deg */
#define ROTATION_MAX     80.0
#define ABDUCTION_STEP   45.0 /* deg */
#define SCAPULAR_AZIMUTH 35.0 /* deg before the frontal plane; from memory: 30 to 40 */

bool study_is_rotation(enum study_movement movement)
{
    return movement == STUDY_EXTERNAL || movement == STUDY_INTERNAL;
}

bool study_is_from_side(enum study_movement movement)
{
    return movement == STUDY_FLEXION || movement == STUDY_EXTENSION;
}

static const char *named(const char *const names[], int count, int which)
{
    return which >= 0 && which < count ? names[which] : NULL;
}

const char *study_movement_name(int movement)
{
    static const char *const names[] = {"flexion",           "abduction",
                                        "scaption",          "extension",
                                        "external-rotation", "internal-rotation"};
    return named(names, STUDY_MOVEMENTS, movement);
}

const char *study_set_name(int set)
{
    static const char *const names[] = {"bands", "stickers5", "stickers8"};
    return named(names, STUDY_SETS, set);
}

const char *study_placement_name(int placement)
{
    static const char *const names[] = {"head", "edge"};
    return named(names, STUDY_PLACEMENTS, placement);
}

const char *study_trunk_name(int trunk)
{
    static const char *const names[] = {"chest-hip", "hip", "none"};
    return named(names, STUDY_TRUNKS, trunk);
}

const char *study_girdle_name(int girdle)
{
    static const char *const names[] = {"moving", "frozen"};
    return named(names, STUDY_GIRDLES, girdle);
}

/* Neighbouring seeds and streams must not give related numbers: the finaliser of
 * SplitMix64 (Steele, Lea and Flood 2014). */
static unsigned long mixed(uint64_t seed, uint64_t stream)
{
    uint64_t z = (seed * 64 + stream) * UINT64_C(0x9E3779B97F4A7C15);
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return (unsigned long)((z ^ (z >> 31)) & 0xFFFFFFFFu);
}

static bool fix(struct spread *spreads, int count, const char *name, size_t length,
                double value)
{
    for (int i = 0; i < count; i++) {
        if (strncmp(spreads[i].name, name, length) != 0 ||
            spreads[i].name[length] != '\0')
            continue;
        spreads[i].law = UNIFORM; /* still drawn, so that the others stay as they were */
        spreads[i].a = spreads[i].b = value;
        return true;
    }
    return false;
}

bool study_fix(const char *assignment)
{
    size_t length = strcspn(assignment, "=");
    double value;
    if (assignment[length] != '=' || !omo_number_parse(assignment + length + 1, &value))
        return false;
    return fix(body_spreads, STUDY_BODY_VALUES, assignment, length, value) ||
           fix(set_up_spreads, STUDY_SET_UP_VALUES, assignment, length, value);
}

/* Every value is drawn, needed or not, so that none depends on another. */
static void draw(gsl_rng *rng, const struct spread *spreads, int first, int count,
                 double *value)
{
    for (int i = first; i < count; i++) {
        const struct spread *s = &spreads[i];
        value[i] = s->law == NORMAL ? s->a + gsl_ran_gaussian(rng, s->b)
                                    : gsl_ran_flat(rng, s->a, s->b);
    }
}

gsl_rng *study_random(const struct study_case *of, int stream)
{
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(rng, mixed(of->seed, (uint64_t)stream));
    return rng;
}

static void draw_all(const struct study_case *of, int attempt, struct study_person *p)
{
    gsl_rng *rng = study_random(of, STUDY_STREAM_BODY);
    draw(rng, body_spreads, 0, STUDY_BODY_VALUES, p->body);
    gsl_rng_free(rng);
    rng = study_random(of, STUDY_STREAM_CAMERA + of->visit);
    for (int i = 0; i <= attempt; i++)
        draw(rng, set_up_spreads, 0, STUDY_HEAD_UP_MM, p->set_up);
    gsl_rng_free(rng);
    rng = study_random(of, STUDY_STREAM_MARKERS + of->visit);
    draw(rng, set_up_spreads, STUDY_HEAD_UP_MM, STUDY_SET_UP_VALUES, p->set_up);
    gsl_rng_free(rng);
}

static void draw_arc(struct study_person *p)
{
    double low_deg = ARC_MIN_DEG, high_deg = ARC_MAX_DEG;
    if (p->of.movement == STUDY_EXTENSION) {
        low_deg = EXTENSION_MIN;
        high_deg = EXTENSION_MAX;
    } else if (study_is_rotation(p->of.movement)) {
        low_deg = ROTATION_MIN;
        high_deg = ROTATION_MAX;
    }
    p->arc_deg = low_deg + p->body[STUDY_ARC_SHARE] * (high_deg - low_deg);
    p->abduction_deg = ABDUCTION_STEP * floor(p->body[STUDY_ABDUCTION_LOT]);
}

void study_person_draw(const struct study_case *of, int attempt,
                       struct study_person *person)
{
    struct study_person *p = person;
    *p = (struct study_person){.of = *of};
    draw_all(of, attempt, p);
    const double *b = p->body;
    draw_arc(p);
    p->stiff = b[STUDY_STIFF_LOT] < STIFF_BELOW;
    p->share = p->stiff ? b[STUDY_STIFF_SHARE] : b[STUDY_SHARE];
    p->setting_deg = p->stiff ? b[STUDY_STIFF_SETTING_DEG] : b[STUDY_SETTING_DEG];
    if (of->girdle == STUDY_FROZEN)
        p->share = 0.0;
    double room_deg = p->arc_deg - HIKE_BEFORE_ARC - HIKE_EARLIEST;
    p->hikes = b[STUDY_HIKE_LOT] < HIKES_BELOW && room_deg > 0.0 &&
               !study_is_rotation(of->movement);
    p->hike_onset_deg =
        p->hikes ? HIKE_EARLIEST + b[STUDY_HIKE_AT] * room_deg : (double)NAN;
    static const double azimuth_deg[STUDY_MOVEMENTS] = {90,  0, SCAPULAR_AZIMUTH,
                                                        -90, 0, 0};
    p->azimuth_deg = azimuth_deg[of->movement];
    p->camera_side = of->movement == STUDY_FLEXION ? -1.0 : 1.0;
}
