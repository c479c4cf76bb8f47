/* Reference encoder for the binary frames of frames.md: plain C99, no heap, no floating point, about 350 bytes of
 * memory for each file that is written at the same time. */
#ifndef FRAME_ENCODER_H
#define FRAME_ENCODER_H

#include <stddef.h>
#include <stdint.h>

#define FRAMES_VERSION 1
#define FRAMES_MOST_CHANNELS 16
#define FRAMES_LONGEST_TEXT 31

/* Flags of a channel. */
#define FRAMES_UNSIGNED 1   /* counts run from 0 to 65535 */
#define FRAMES_HAS_MISSING 2 /* -32768 (65535 where unsigned) says that there is no value */

/* value = count * scale * 10^scale_exponent + offset * 10^offset_exponent, in unit. */
typedef struct {
    const char *name; /* as in the drive format, such as accel_x */
    const char *unit; /* such as mg */
    uint8_t flags;
    int32_t scale;
    int8_t scale_exponent;
    int32_t offset;
    int8_t offset_exponent;
} frames_channel;

/* What the header record says. It is read again at every repeat, so it must stay where it is. */
typedef struct {
    const char *device;
    const char *place;           /* lever, tower, gearbox, body, engine or pedal */
    const char *clock;           /* files whose counters are one and the same name it alike; else "" */
    uint16_t session;            /* another number at every start; 0 where none can be had */
    uint32_t rate_mhz;           /* nominal samples a second, in thousandths */
    uint32_t header_every_us;    /* how often the header is repeated; 0: every 5 s */
    const frames_channel *channels;
    uint8_t channel_count;
} frames_description;

/* Takes the bytes: to a card, a serial port, a buffer. */
typedef void (*frames_write)(void *context, const uint8_t *bytes, size_t count);

typedef struct {
    const frames_description *description;
    frames_write write;
    void *context;
    uint8_t out[257];       /* encoded bytes not yet handed on */
    uint16_t used;          /* how many of them */
    uint16_t code_at;       /* where the open COBS block keeps its length */
    uint16_t crc;
    uint16_t layout;
    uint16_t sequence;
    uint16_t open_bytes;    /* length of the open data record before COBS; 0 where none is open */
    uint8_t open_type;
    uint8_t wraps;
    uint8_t started;
    uint32_t last_us;       /* newest counter seen */
    uint32_t sample_us;     /* counter of the newest sample of the open record */
    uint32_t open_us;       /* counter of its first sample */
    uint32_t open_count;    /* samples in it */
    uint32_t step_ns;
    uint32_t header_us;
} frames_encoder;

/* Writes a first 0x00 and the header. Returns 0, or -1 where the description does not fit the format (no channel or
 * too many, a text too long, rate 0): then nothing is written. */
int frames_start(frames_encoder *encoder, const frames_description *description, uint32_t counter_us,
                 frames_write write, void *context);

/* One sample of every channel with the counter as it was when the sample was taken: for a loop that may jitter. */
void frames_sample(frames_encoder *encoder, uint32_t counter_us, const int16_t *counts);

/* The same for samples that come evenly, as out of a sensor's own queue: the counter is stored once a record. */
void frames_even_sample(frames_encoder *encoder, uint32_t counter_us, uint32_t step_ns, const int16_t *counts);

/* A button was pressed, or a test began: code 1 to 255. */
void frames_marker(frames_encoder *encoder, uint32_t counter_us, uint8_t code);

/* Closes the open record. Call it before the file is closed, and where the card should be brought up to date. */
void frames_flush(frames_encoder *encoder);

/* CRC-16/IBM-3740 of some bytes, carried on from an earlier part (0xFFFF to begin with). */
uint16_t frames_crc(uint16_t crc, const uint8_t *bytes, size_t count);

#endif
