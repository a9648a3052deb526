// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/instrument_file.h"

#include "app/input_source.h"

namespace clockassay {

Result<std::optional<Instrument>> load_instrument(ReadingArguments& reading) {
  if (!reading.instrument) return std::nullopt;
  const auto text = read_short_text(*reading.instrument);
  if (!text) return tl::unexpected(text.error());
  auto instrument = parse_instrument(*text);
  if (!instrument) {
    Error error = instrument.error();
    error.path = *reading.instrument;
    return tl::unexpected(error);
  }
  if (!reading.timebase) reading.timebase = instrument->timebase;
  if (!reading.reference) reading.reference = instrument->reference;
  reading.input_jitter_rms = instrument->input_jitter_rms;
  reading.edge_skew = instrument->edge_skew;
  return instrument;
}

}  // namespace clockassay
