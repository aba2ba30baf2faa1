#include "show/sound/sound.h"

#include <dlfcn.h>
#include <stdlib.h>
#include <string.h>

#include <SDL2/SDL.h>

#include "show/sound/speech.h"
#include "show/sound/tones.h"

#define RATE_HZ 48000
/* 21 ms: late enough for two busy cores, early enough to go with the picture. */
#define SAMPLES 1024
/* How long the fade at the end is waited for, ms. */
#define FADE_MS 250

struct omo_sound {
    struct omo_speech speech;
    bool on;
    bool initialised;
    SDL_AudioDeviceID device; /* 0: none */
    struct omo_tones tones;   /* under SDL_LockAudioDevice while there is a device */
};

static void render(void *user, Uint8 *bytes, int size)
{
    omo_tones_render(user, (float *)(void *)bytes, (size_t)size / sizeof(float));
}

static void __attribute__((format(printf, 5, 6)))
say_nothing(const char *file, int line, const char *function, int error,
            const char *format, ...)
{
    (void)file, (void)line, (void)function, (void)error, (void)format;
}

/* On a computer without a sound card ALSA's library writes a dozen lines of its own. */
static void quieten_alsa(void)
{
    typedef void handler(const char *, int, const char *, int, const char *, ...);
    void *library = dlopen("libasound.so.2", RTLD_LAZY | RTLD_NOLOAD);
    int (*set)(handler *) = NULL;

    if (library == NULL)
        return;
    /* The detour that POSIX gives for a function's address. */
    *(void **)&set = dlsym(library, "snd_lib_error_set_handler");
    if (set != NULL)
        set(say_nothing);
    dlclose(library);
}

static void open_device(struct omo_sound *sound)
{
    SDL_AudioSpec wanted = {.freq = RATE_HZ,
                            .format = AUDIO_F32SYS,
                            .channels = 1,
                            .samples = SAMPLES,
                            .callback = render,
                            .userdata = &sound->tones};
    SDL_AudioSpec got;

    /* Ending on a signal is the program's affair, not that of its sound. */
    SDL_SetHint(SDL_HINT_NO_SIGNAL_HANDLERS, "1");
    if (!sound->initialised) {
        if (SDL_InitSubSystem(SDL_INIT_AUDIO) != 0)
            return;
        sound->initialised = true;
        quieten_alsa();
    }
    sound->device =
        SDL_OpenAudioDevice(NULL, 0, &wanted, &got, SDL_AUDIO_ALLOW_FREQUENCY_CHANGE);
    if (sound->device == 0)
        return;
    /* It is still paused: nothing reads the tones yet. */
    omo_tones_init(&sound->tones, got.freq);
    SDL_PauseAudioDevice(sound->device, 0);
}

static void close_device(struct omo_sound *sound)
{
    bool silent = false;

    if (sound->device == 0)
        return;
    for (int waited_ms = 0; !silent && waited_ms < FADE_MS; waited_ms += 5) {
        SDL_LockAudioDevice(sound->device);
        sound->tones.muted = true;
        silent = omo_tones_silent(&sound->tones);
        SDL_UnlockAudioDevice(sound->device);
        if (!silent)
            SDL_Delay(5);
    }
    SDL_CloseAudioDevice(sound->device);
    sound->device = 0;
}

enum omo_status omo_sound_open(const char *language, struct omo_sound **out)
{
    struct omo_sound *sound = calloc(1, sizeof *sound);

    if (sound == NULL)
        return OMO_ERR_MEMORY;
    omo_speech_init(&sound->speech, language);
    *out = sound;
    return OMO_OK;
}

void omo_sound_destroy(struct omo_sound *sound)
{
    if (sound == NULL)
        return;
    omo_sound_on(sound, false);
    if (sound->initialised)
        SDL_QuitSubSystem(SDL_INIT_AUDIO);
    free(sound);
}

void omo_sound_on(struct omo_sound *sound, bool on)
{
    if (on == sound->on)
        return;
    sound->on = on;
    if (on) {
        open_device(sound);
    } else {
        omo_speech_stop(&sound->speech);
        close_device(sound);
    }
}

void omo_sound_angle(struct omo_sound *sound, double angle_deg)
{
    if (!sound->on)
        return;
    const bool speaking = omo_speech_busy(&sound->speech);

    if (sound->device == 0)
        return;
    SDL_LockAudioDevice(sound->device);
    sound->tones.speaking = speaking;
    omo_tones_angle(&sound->tones, angle_deg);
    SDL_UnlockAudioDevice(sound->device);
}

void omo_sound_signal(struct omo_sound *sound, enum omo_signal signal)
{
    if (sound->device == 0)
        return;
    SDL_LockAudioDevice(sound->device);
    omo_tones_signal(&sound->tones, signal);
    SDL_UnlockAudioDevice(sound->device);
}

void omo_sound_say(struct omo_sound *sound, const char *sentence)
{
    if (!sound->on)
        return;
    /* The voice plays by itself: it may find a way where no device could be opened. */
    omo_speech_say(&sound->speech, sentence);
    if (sound->device == 0)
        return;
    SDL_LockAudioDevice(sound->device);
    sound->tones.speaking = sound->speech.running != 0;
    SDL_UnlockAudioDevice(sound->device);
}

static bool something_sounds(struct omo_sound *sound)
{
    bool signal = false;

    if (omo_speech_busy(&sound->speech))
        return true;
    if (sound->device == 0)
        return false;
    SDL_LockAudioDevice(sound->device);
    signal = sound->tones.signal >= 0 || sound->tones.next_signal >= 0;
    SDL_UnlockAudioDevice(sound->device);
    return signal;
}

void omo_sound_wait(struct omo_sound *sound, double most_s)
{
    const Uint64 until_ms = SDL_GetTicks64() + (Uint64)(most_s * 1000);

    while (something_sounds(sound) && SDL_GetTicks64() < until_ms)
        SDL_Delay(10);
}
