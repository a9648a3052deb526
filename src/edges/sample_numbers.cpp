// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/edges/sample_numbers.h"

#include <utility>

namespace clockassay {
namespace {

Int128 magnitude(Int128 x) {
  return x < 0 ? -x : x;
}

/// Takes over one run; false where it cannot be.
class RunTranslator {
 public:
  RunTranslator(const SampleNumbers& samples, Arena& arena)
      : samples_(samples), encoder_(arena) {}

  bool translate(const EdgeRun& run, EdgeRun& out) {
    // Where the level is known need not be an edge: the nearest sample.
    out.known_from = nearest_sample(samples_, run.known_from);
    out.known_to = nearest_sample(samples_, run.known_to);
    if (!edge(run.leading_fall, out.leading_fall)) return false;
    DecodedCycles cycles;
    for (const CycleBlock& block : run.blocks) {
      decode_cycles(block, cycles);
      if (!add_block(block, cycles, out)) return false;
    }
    if (!encoder_.empty()) out.blocks.push_back(encoder_.flush());
    return edge(run.last_rise, out.last_rise) &&
           edge(run.trailing_fall, out.trailing_fall);
  }

 private:
  bool add_block(const CycleBlock& block, const DecodedCycles& cycles,
                 EdgeRun& out) {
    auto rise = sample_number(samples_, block.first);
    if (rise && last_ && !(*last_ < *rise)) return false;
    for (std::size_t c = 0; c < cycles.count; ++c) {
      const auto fall =
          sample_number(samples_, cycles.first + Ticks(cycles.fall[c]));
      const auto next =
          sample_number(samples_, c + 1 < cycles.count
                                      ? cycles.first + Ticks(cycles.rise[c + 1])
                                      : block.end);
      if (!rise || !fall || !next || !(*rise < *fall) || !(*fall < *next)) {
        return false;
      }
      encoder_.add(*rise, *fall, *next);
      if (encoder_.full()) out.blocks.push_back(encoder_.flush());
      rise = next;
    }
    return true;
  }

  bool edge(const std::optional<Ticks>& stamp, std::optional<Ticks>& out) {
    if (!stamp) return true;
    out = sample_number(samples_, *stamp);
    // Edges on one sample are not told apart.
    const bool after = !out || !last_ || *last_ < *out;
    last_ = out;
    return out.has_value() && after;
  }

  const SampleNumbers& samples_;
  CycleEncoder encoder_;
  std::optional<Ticks> last_;
};

}  // namespace

bool tells_samples(const SampleNumbers& samples) {
  // Products with a stamp stay below 2^126.
  constexpr Int128 kLargest = Int128(1) << 61;
  return samples.sample_ticks.num() < kLargest &&
         samples.sample_ticks.den() < kLargest &&
         samples.text_ticks < (std::int64_t{1} << 61) &&
         Rational(2 * samples.text_ticks) < samples.sample_ticks;
}

Ticks nearest_sample(const SampleNumbers& samples, Ticks stamp) {
  const Int128 num = samples.sample_ticks.num();
  const Int128 at =
      Int128((stamp - samples.origin).count()) * samples.sample_ticks.den();
  Int128 n = (2 * at + num) / (2 * num);
  if (2 * at + num < 0) --n;  // division rounds to zero
  return Ticks(static_cast<std::int64_t>(n));
}

std::optional<Ticks> sample_number(const SampleNumbers& samples, Ticks stamp) {
  const Int128 num = samples.sample_ticks.num();
  const Int128 den = samples.sample_ticks.den();
  const Ticks sample = nearest_sample(samples, stamp);
  const Int128 at = Int128((stamp - samples.origin).count()) * den;
  const Int128 off = magnitude(at - sample.count() * num);
  if (off > Int128(samples.text_ticks) * den) return std::nullopt;
  return sample;
}

std::optional<ChannelRecord> in_samples(const ChannelRecord& record,
                                        const SampleNumbers& samples,
                                        Arena& arena) {
  ChannelRecord out = record;
  out.runs.clear();
  for (const EdgeRun& run : record.runs) {
    EdgeRun translated;
    if (!RunTranslator(samples, arena).translate(run, translated)) {
      return std::nullopt;
    }
    out.runs.push_back(std::move(translated));
  }
  return out;
}

}  // namespace clockassay
