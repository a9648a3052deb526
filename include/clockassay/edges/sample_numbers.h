// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/base/rational.h"
#include "clockassay/base/units.h"
#include "clockassay/capture/arena.h"
#include "clockassay/capture/channel_stream.h"

namespace clockassay {

/// Samples that stamps were written from.
struct SampleNumbers {
  Rational sample_ticks = Rational(1);  ///< > 0
  Ticks origin;                         ///< stamp of sample 0
  std::int64_t text_ticks = 1;          ///< step in which stamps are written
};

/// The sample nearest to an instant.
/// In: tells_samples()
Ticks nearest_sample(const SampleNumbers& samples, Ticks stamp);

/// The sample a stamp was written from; absent where the stamp is further from
/// every sample than writing may have moved it and the origin, one text step.
std::optional<Ticks> sample_number(const SampleNumbers& samples, Ticks stamp);

/// Whether the samples can be told from the text: two of them are further apart
/// than twice what writing moves.
bool tells_samples(const SampleNumbers& samples);

/// The same channel with samples for ticks: what the text rounded is gone.
/// Absent where a stamp is on no sample or two edges on one: then the stated
/// interval is not what the stamps were written from, and they are better left
/// as they are.
/// In: tells_samples(); arena  that the new blocks point into
std::optional<ChannelRecord> in_samples(const ChannelRecord& record,
                                        const SampleNumbers& samples,
                                        Arena& arena);

}  // namespace clockassay
