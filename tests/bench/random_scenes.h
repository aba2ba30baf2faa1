/** Scenes drawn at random: people, clothes, light, rooms and company that nobody chose.
 */
#ifndef OMOGON_BENCH_RANDOM_SCENES_H
#define OMOGON_BENCH_RANDOM_SCENES_H

#include <glib.h>
#include <stdint.h>

/** A scene as a key file with the group [scene]; the same for the same seed. `footage`
 *  NULL: no real rooms. To be released with g_key_file_free(). */
GKeyFile *random_scene(uint64_t seed, const char *footage);
/** Makes both arms of such a scene raise at once in the front view; the other arm's
 *  height and lag are drawn by the seed too. */
void random_scene_both(GKeyFile *keys, uint64_t seed);

#endif
