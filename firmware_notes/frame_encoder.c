#include "frame_encoder.h"

#include <string.h>

enum { HEADER = 1, EVEN = 2, STAMPED = 3, MARKER = 4 };

enum {
    HEAD_BYTES = 10,
    CRC_BYTES = 2,
    LONGEST_RECORD = 254, /* one COBS block; a header may be longer */
    LONGEST_DELTA_US = 65535
};

#define HEADER_EVERY_US 5000000u

uint16_t frames_crc(uint16_t crc, const uint8_t *bytes, size_t count)
{
    while (count--) {
        uint8_t x = (uint8_t)((crc >> 8) ^ *bytes++);
        x = (uint8_t)(x ^ (x >> 4));
        crc = (uint16_t)((crc << 8) ^ ((uint16_t)x << 12) ^ ((uint16_t)x << 5) ^ x);
    }
    return crc;
}

/* Hands on every byte of the buffer that no open block can change any more. */
static void hand_on(frames_encoder *e)
{
    if (e->code_at == 0)
        return;
    e->write(e->context, e->out, e->code_at);
    memmove(e->out, e->out + e->code_at, (size_t)(e->used - e->code_at));
    e->used = (uint16_t)(e->used - e->code_at);
    e->code_at = 0;
}

static void open_block(frames_encoder *e)
{
    if (e->used == sizeof e->out)
        hand_on(e);
    e->code_at = e->used;
    e->out[e->used++] = 1;
}

static void put_encoded(frames_encoder *e, uint8_t byte)
{
    /* A full block is closed only when more follows, so that none stands empty at the end. */
    if (e->out[e->code_at] == 0xFF)
        open_block(e);
    if (byte == 0) {
        open_block(e);
        return;
    }
    if (e->used == sizeof e->out)
        hand_on(e);
    e->out[e->used++] = byte;
    e->out[e->code_at]++;
}

static void put(frames_encoder *e, uint8_t byte)
{
    e->crc = frames_crc(e->crc, &byte, 1);
    put_encoded(e, byte);
}

static void put16(frames_encoder *e, uint16_t value)
{
    put(e, (uint8_t)(value & 0xFF));
    put(e, (uint8_t)(value >> 8));
}

static void put32(frames_encoder *e, uint32_t value)
{
    put16(e, (uint16_t)(value & 0xFFFF));
    put16(e, (uint16_t)(value >> 16));
}

static void put_text(frames_encoder *e, const char *text)
{
    size_t i, length = strlen(text);
    put(e, (uint8_t)length);
    for (i = 0; i < length; i++)
        put(e, (uint8_t)text[i]);
}

static void begin_record(frames_encoder *e, uint8_t type, uint8_t wraps, uint32_t counter_us)
{
    e->crc = 0xFFFF;
    e->used = 0;
    open_block(e);
    put(e, type);
    put(e, wraps);
    put16(e, e->sequence++);
    put16(e, e->layout);
    put32(e, counter_us);
}

static void end_record(frames_encoder *e)
{
    uint16_t crc = e->crc;
    put_encoded(e, (uint8_t)(crc & 0xFF));
    put_encoded(e, (uint8_t)(crc >> 8));
    if (e->used == sizeof e->out)
        hand_on(e);
    e->out[e->used++] = 0;
    e->write(e->context, e->out, e->used);
    e->used = 0;
}

static void put_description(frames_encoder *e)
{
    const frames_description *d = e->description;
    uint8_t i;
    put(e, FRAMES_VERSION);
    put16(e, d->session);
    put32(e, d->rate_mhz);
    put_text(e, d->device);
    put_text(e, d->place);
    put_text(e, d->clock);
    put(e, d->channel_count);
    for (i = 0; i < d->channel_count; i++) {
        const frames_channel *c = &d->channels[i];
        put_text(e, c->name);
        put_text(e, c->unit);
        put(e, c->flags);
        put32(e, (uint32_t)c->scale);
        put(e, (uint8_t)c->scale_exponent);
        put32(e, (uint32_t)c->offset);
        put(e, (uint8_t)c->offset_exponent);
    }
}

static void ignore_bytes(void *context, const uint8_t *bytes, size_t count)
{
    (void)context;
    (void)bytes;
    (void)count;
}

/* The layout is the CRC of the description alone: every record carries it and is known to belong to this header. */
static uint16_t layout_of(frames_encoder *e)
{
    frames_write write = e->write;
    e->write = ignore_bytes;
    e->crc = 0xFFFF;
    e->used = 0;
    open_block(e);
    put_description(e);
    e->used = 0;
    e->write = write;
    return e->crc;
}

static void write_header(frames_encoder *e, uint32_t counter_us)
{
    begin_record(e, HEADER, e->wraps, counter_us);
    put_description(e);
    end_record(e);
    e->header_us = counter_us;
}

static int text_fits(const char *text)
{
    return text != NULL && strlen(text) <= FRAMES_LONGEST_TEXT;
}

static int description_fits(const frames_description *d)
{
    uint8_t i;
    if (d->channel_count == 0 || d->channel_count > FRAMES_MOST_CHANNELS || d->rate_mhz == 0)
        return 0;
    if (!text_fits(d->device) || !text_fits(d->place) || !text_fits(d->clock))
        return 0;
    for (i = 0; i < d->channel_count; i++)
        if (!text_fits(d->channels[i].name) || !text_fits(d->channels[i].unit))
            return 0;
    return 1;
}

int frames_start(frames_encoder *e, const frames_description *description, uint32_t counter_us, frames_write write,
                 void *context)
{
    static const uint8_t end_of_rubbish = 0;
    if (!description_fits(description))
        return -1;
    memset(e, 0, sizeof *e);
    e->description = description;
    e->write = write;
    e->context = context;
    e->last_us = counter_us;
    e->layout = layout_of(e);
    e->started = 1;
    e->write(e->context, &end_of_rubbish, 1);
    write_header(e, counter_us);
    return 0;
}

/* Counts the wraps of the counter. A sample may be a little older than what was written last: that is no wrap. */
static uint8_t wraps_at(frames_encoder *e, uint32_t counter_us)
{
    uint32_t ahead = counter_us - e->last_us;
    if (ahead >= 0x80000000u)
        return (uint8_t)(e->wraps - (counter_us > e->last_us));
    if (counter_us < e->last_us)
        e->wraps++;
    e->last_us = counter_us;
    return e->wraps;
}

void frames_flush(frames_encoder *e)
{
    if (!e->started || e->open_bytes == 0)
        return;
    e->open_bytes = 0;
    end_record(e);
}

static void repeat_header(frames_encoder *e, uint32_t counter_us)
{
    uint32_t every = e->description->header_every_us ? e->description->header_every_us : HEADER_EVERY_US;
    uint32_t since = counter_us - e->header_us;
    if (since < 0x80000000u && since >= every)
        write_header(e, counter_us);
}

static void open_record(frames_encoder *e, uint8_t type, uint8_t wraps, uint32_t counter_us)
{
    repeat_header(e, counter_us);
    begin_record(e, type, wraps, counter_us);
    e->open_type = type;
    e->open_bytes = HEAD_BYTES;
    e->open_us = counter_us;
    e->open_count = 0;
}

static void put_counts(frames_encoder *e, const int16_t *counts)
{
    uint8_t i;
    for (i = 0; i < e->description->channel_count; i++)
        put16(e, (uint16_t)counts[i]);
    e->open_bytes = (uint16_t)(e->open_bytes + 2 * e->description->channel_count);
    e->open_count++;
}

static int has_room(const frames_encoder *e, size_t stamp_bytes)
{
    size_t sample = stamp_bytes + 2u * e->description->channel_count;
    return e->open_bytes + sample + CRC_BYTES <= LONGEST_RECORD;
}

void frames_sample(frames_encoder *e, uint32_t counter_us, const int16_t *counts)
{
    uint8_t wraps;
    uint32_t delta = counter_us - e->sample_us;
    if (!e->started)
        return;
    wraps = wraps_at(e, counter_us);
    if (e->open_bytes && (e->open_type != STAMPED || delta > LONGEST_DELTA_US || !has_room(e, 2)))
        frames_flush(e);
    if (e->open_bytes == 0) {
        open_record(e, STAMPED, wraps, counter_us);
        delta = 0;
    }
    put16(e, (uint16_t)delta);
    e->open_bytes = (uint16_t)(e->open_bytes + 2);
    put_counts(e, counts);
    e->sample_us = counter_us;
}

/* Whether a sample stands where the open record says that its next one does, within half a step. */
static int is_next(const frames_encoder *e, uint32_t counter_us)
{
    uint32_t due = e->open_us + (uint32_t)((uint64_t)e->open_count * e->step_ns / 1000u);
    int32_t off = (int32_t)(counter_us - due);
    int32_t half = (int32_t)(e->step_ns / 2000u) + 1;
    return off <= half && off >= -half;
}

void frames_even_sample(frames_encoder *e, uint32_t counter_us, uint32_t step_ns, const int16_t *counts)
{
    uint8_t wraps;
    if (!e->started || step_ns == 0)
        return;
    wraps = wraps_at(e, counter_us);
    if (e->open_bytes && (e->open_type != EVEN || e->step_ns != step_ns || !is_next(e, counter_us) || !has_room(e, 0)))
        frames_flush(e);
    if (e->open_bytes == 0) {
        open_record(e, EVEN, wraps, counter_us);
        put32(e, step_ns);
        e->open_bytes = (uint16_t)(e->open_bytes + 4);
        e->step_ns = step_ns;
    }
    put_counts(e, counts);
}

void frames_marker(frames_encoder *e, uint32_t counter_us, uint8_t code)
{
    uint8_t wraps;
    if (!e->started)
        return;
    frames_flush(e);
    wraps = wraps_at(e, counter_us);
    begin_record(e, MARKER, wraps, counter_us);
    put(e, code);
    end_record(e);
}
