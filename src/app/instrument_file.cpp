// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/instrument_file.h"

#include "app/input_source.h"

namespace clockassay {

Result<Instrument> read_instrument(const std::string& path) {
  const auto text = read_short_text(path);
  if (!text) return tl::unexpected(text.error());
  auto instrument = parse_instrument(*text);
  if (instrument) return instrument;
  Error error = instrument.error();
  error.path = path;
  return tl::unexpected(error);
}

Result<std::optional<Instrument>> load_instrument(ReadingArguments& reading) {
  if (!reading.instrument) return std::nullopt;
  const auto instrument = read_instrument(*reading.instrument);
  if (!instrument) return tl::unexpected(instrument.error());
  if (!reading.timebase) reading.timebase = instrument->timebase;
  if (!reading.reference) reading.reference = instrument->reference;
  reading.input_jitter_rms = instrument->input_jitter_rms;
  reading.edge_skew = instrument->edge_skew;
  return *instrument;
}

}  // namespace clockassay
