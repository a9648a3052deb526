// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_importer.h"

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "capture/content_check.h"
#include "capture/line_ends.h"
#include "capture/vcd_body.h"
#include "capture/vcd_channels.h"
#include "capture/vcd_header.h"
#include "capture/vcd_token.h"
#include "capture/vcd_understanding.h"
#include "capture/vcd_value.h"

namespace clockassay {

namespace {

class VcdPieceParser final : public PieceParser {
 public:
  VcdPieceParser(Layout layout, VcdChannels channels,
                 std::vector<std::optional<Level>> initial, ReadCounts counts)
      : layout_(std::move(layout)),
        channels_(std::move(channels)),
        ids_(channels_.nets),
        initial_(std::move(initial)),
        counts_(counts) {}

  const Layout& layout() const override { return layout_; }

  // A stamp, if nothing is open there: the state of the piece before tells.
  std::size_t find_cut(std::string_view bytes,
                       std::size_t from) const override {
    for (std::size_t at = bytes.find('#', from);
         at != std::string_view::npos && at + 1 < bytes.size();
         at = bytes.find('#', at + 1)) {
      const char next = bytes[at + 1];
      if (next >= '0' && next <= '9' && is_vcd_blank(bytes[at - 1])) return at;
    }
    return std::string_view::npos;
  }

  Piece parse(std::string_view bytes, std::int64_t offset, ParseState entry,
              bool last) const override {
    Piece piece;
    const std::size_t nets = channels_.nets.names.size();
    std::vector<PieceChannelBuilder> builders(nets);
    const bool first = offset == layout_.body_offset;
    static const std::vector<std::optional<Level>> kNoLevels;
    VcdBody body(channels_.nets, ids_, bytes, offset, last, entry, builders,
                 first ? initial_ : kNoLevels);
    body.run(piece);
    if (first) piece.counts += counts_;
    piece.channels = channels_of(builders);
    return piece;
  }

 private:
  /// Several channels may be names of one net.
  std::vector<PieceChannel> channels_of(
      std::vector<PieceChannelBuilder>& builders) const {
    constexpr auto kNone = static_cast<std::size_t>(-1);
    std::vector<std::size_t> channel_of(builders.size(), kNone);
    std::vector<PieceChannel> channels;
    channels.reserve(channels_.net.size());
    for (const std::size_t net : channels_.net) {
      if (channel_of[net] != kNone) {
        channels.push_back(channels[channel_of[net]]);
        continue;
      }
      channel_of[net] = channels.size();
      channels.push_back(builders[net].finish());
    }
    return channels;
  }

  Layout layout_;
  VcdChannels channels_;
  VcdScanIds ids_;
  std::vector<std::optional<Level>> initial_;  // before the first stamp
  ReadCounts counts_;                          // of what is before it
};

tl::unexpected<Error> at_byte(Error error, std::size_t byte) {
  if (!error.byte) error.byte = static_cast<std::int64_t>(byte);
  return tl::unexpected<Error>(std::move(error));
}

Result<TimeGrid> time_grid(std::string_view prefix, const VcdHeader& header,
                           const ReadOptions& options,
                           std::vector<Warning>& warnings) {
  TimeGrid grid;
  if (header.tick_s) {
    grid.tick_s = *header.tick_s;
  } else {
    warnings.push_back(
        {WarningCode::kTimescaleMissing,
         "found no $timescale; one tick is taken as one second, so every time "
         "is in ticks and every frequency per tick"});
  }
  std::optional<Rational> rate = options.sample_rate_hz;
  grid.source = SampleIntervalSource::kOption;
  if (!rate && header.sample_rate_hz) {
    if (!*header.sample_rate_hz) {
      return tl::unexpected(header.sample_rate_hz->error());
    }
    rate = **header.sample_rate_hz;
    grid.source = SampleIntervalSource::kHeader;
    grid.source_reason = stated_in_line(prefix, header.sample_rate_byte);
  }
  if (!rate) {
    grid.source = SampleIntervalSource::kUnknown;
    return grid;
  }
  grid.sample_interval_s = divide(Rational(1), *rate);
  if (!grid.sample_interval_s || grid.sample_interval_s->sign() <= 0) {
    return failure(ErrorCode::kUsage, "found sample rate " + rate->to_string() +
                                          " Hz, expected one above zero");
  }
  return grid;
}

tl::unexpected<Error> no_stamp(std::size_t byte) {
  return at_byte({ErrorCode::kBadData,
                  "found no time such as #100 after the header, expected value "
                  "changes with times",
                  "nothing was recorded: record the capture again"},
                 byte);
}

tl::unexpected<Error> no_header(std::string_view prefix) {
  return at_byte(
      {ErrorCode::kBadData,
       "found values at the beginning, expected a header with $var",
       "if this continues another file, put that one before it"},
      skip_vcd_blanks(prefix,
                      prefix.size() - without_byte_order_mark(prefix).size()));
}

// A part of the body: a $dump…, or a stamp and behind it a change or $dump….
bool begins_in_body(std::string_view text) {
  const std::size_t begin = skip_vcd_blanks(text, 0);
  const std::size_t end = vcd_token_end(text, begin);
  const std::string_view first = text.substr(begin, end - begin);
  if (is_vcd_body_keyword(first)) return true;
  if (first.size() < 2 || first[0] != '#') return false;
  if (vcd_stamp(first.substr(1)).fault != VcdStamp::Fault::kNone) return false;
  const std::size_t next = skip_vcd_blanks(text, end);
  const std::string_view second =
      text.substr(next, vcd_token_end(text, next) - next);
  if (is_vcd_body_keyword(second)) return true;
  if (second.size() > 1 && (second[0] == 'b' || second[0] == 'B') &&
      second.find_first_not_of("01xXzZ", 1) == second.npos) {
    return true;
  }
  // Beside a number: "0.5" and "1,0" are rows of numbers behind a comment.
  return second.size() > 1 && vcd_level(second[0]).has_value() &&
         second.find_first_of("0123456789.,;", 1) != 1;
}

}  // namespace

bool recognises_vcd(std::string_view prefix) {
  const std::string_view text = without_byte_order_mark(prefix);
  const std::size_t begin = skip_vcd_blanks(text, 0);
  const std::size_t end = vcd_token_end(text, begin);
  return is_vcd_header_keyword(text.substr(begin, end - begin)) ||
         begins_in_body(text);
}

Result<std::unique_ptr<PieceParser>> read_vcd_header(std::string_view prefix,
                                                     bool whole,
                                                     const ReadOptions& options,
                                                     bool& needs_more) {
  if (begins_in_body(without_byte_order_mark(prefix))) return no_header(prefix);
  Result<VcdHeader> header = parse_vcd_declarations(prefix, whole, needs_more);
  if (!header) return tl::unexpected(header.error());
  if (needs_more) return no_stamp(prefix.size());
  Layout layout;
  layout.format = "vcd";
  layout.warnings = header->warnings;
  const auto grid = time_grid(prefix, *header, options, layout.warnings);
  if (!grid) return at_byte(grid.error(), 0);
  layout.grid = *grid;
  auto channels = choose_vcd_channels(*header, options);
  if (!channels) return tl::unexpected(channels.error());
  layout.channel_names = channels->names;
  for (const BusName& bus : channels->buses) {
    layout.channel_names.push_back(bus.whole());
  }
  layout.selected = channels->selected;
  layout.missing = channels->missing;
  layout.warnings.insert(layout.warnings.end(), channels->warnings.begin(),
                         channels->warnings.end());

  VcdBody values(channels->nets, prefix.substr(header->end),
                 static_cast<std::int64_t>(header->end), whole);
  values.run_to_stamp();
  needs_more = values.is_short();
  if (values.error()) return tl::unexpected(*values.error());
  layout.body_offset =
      static_cast<std::int64_t>(header->end + values.position());
  if (header->end + values.position() >= prefix.size()) {
    return no_stamp(prefix.size());
  }
  layout.entry = values.exit();
  layout.understanding = understand_vcd(prefix, whole, *header, *channels,
                                        options, layout, values);
  ReadCounts counts = values.counts();
  counts.unusual_syntax += header->unusual_syntax;
  return std::make_unique<VcdPieceParser>(
      std::move(layout), std::move(*channels), values.initial_levels(), counts);
}

}  // namespace clockassay
