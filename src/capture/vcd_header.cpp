// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_header.h"

#include <span>
#include <utility>

#include "capture/content_check.h"
#include "capture/shown_text.h"
#include "capture/stated_sample_rate.h"
#include "capture/vcd_timescale.h"
#include "capture/vcd_token.h"

namespace clockassay {
namespace {

// Most bytes of full names. Chosen: a million names of 256 bytes; without a
// bound, long scopes with many variables would multiply beyond any memory.
constexpr std::size_t kMostNameBytes = std::size_t{256} << 20;

// Reads one prefix, once.
class HeaderReader {
 public:
  HeaderReader(std::string_view prefix, bool whole)
      : bytes_(prefix),
        whole_(whole),
        at_(prefix.size() - without_byte_order_mark(prefix).size()) {}

  Result<void> run();
  bool needs_more() const { return short_; }
  VcdHeader take();

 private:
  // A token and where it begins; empty at the end of what there is.
  struct Token {
    std::string_view text;
    std::size_t byte = 0;
  };
  Token next();
  Result<void> section(const Token& keyword);
  Result<void> skip_comment(const Token& keyword);
  Result<void> read_until_end(const Token& keyword);
  Result<void> timescale(const Token& keyword);
  Result<void> scope(const Token& keyword);
  void upscope();
  Result<void> var(const Token& keyword);
  Result<void> note_width(std::size_t id, const VcdDeclaration& declared,
                          const Token& keyword);
  tl::unexpected<Error> refuse(std::size_t byte, std::string message,
                               std::string hint) const;
  tl::unexpected<Error> unfinished(const Token& keyword) const;
  bool ended() const { return at_ >= bytes_.size(); }

  std::string_view bytes_;
  bool whole_;
  std::size_t at_;
  bool short_ = false;
  VcdHeader header_;
  std::vector<std::string_view> words_;  // of the present section
  std::string path_;                     // scopes, each with a point behind
  std::vector<std::size_t> path_sizes_;  // of path_ before each scope
  std::vector<std::int64_t> widths_;     // per identifier: first declared
  std::vector<bool> width_conflict_;     // per identifier
  std::size_t name_bytes_ = 0;           // of all full names
};

HeaderReader::Token HeaderReader::next() {
  const std::size_t begin = skip_vcd_blanks(bytes_, at_);
  const std::size_t end = vcd_token_end(bytes_, begin);
  if (end == bytes_.size() && !whole_) short_ = true;  // it may go on
  at_ = end;
  return {bytes_.substr(begin, end - begin), begin};
}

tl::unexpected<Error> HeaderReader::refuse(std::size_t byte,
                                           std::string message,
                                           std::string hint) const {
  Error error{ErrorCode::kBadData, std::move(message), std::move(hint)};
  error.byte = static_cast<std::int64_t>(byte);
  return tl::unexpected<Error>(std::move(error));
}

tl::unexpected<Error> HeaderReader::unfinished(const Token& keyword) const {
  return refuse(keyword.byte,
                "found the end of the file inside " + shown_text(keyword.text) +
                    ", expected $end",
                "the file is cut off: record it again");
}

Result<void> HeaderReader::run() {
  while (true) {
    const Token token = next();
    if (short_) return {};
    if (token.text.empty()) {
      return refuse(bytes_.size(),
                    "found the end of the file in the header, expected "
                    "$enddefinitions and value changes",
                    "the file is cut off or empty: record it again");
    }
    if (token.text == "$enddefinitions") {
      if (auto done = read_until_end(token); !done || short_) return done;
      header_.end = at_;
      header_.has_end = true;
      return {};
    }
    if (token.text[0] == '#' || is_vcd_body_keyword(token.text)) {
      header_.warnings.push_back(
          {WarningCode::kHeaderUnfinished,
           "found no $enddefinitions; the values begin at byte " +
               std::to_string(token.byte)});
      header_.end = token.byte;
      return {};
    }
    if (auto done = section(token); !done || short_) return done;
  }
}

Result<void> HeaderReader::section(const Token& keyword) {
  if (keyword.text[0] != '$' || keyword.text == "$end") {
    return refuse(keyword.byte,
                  "found " + shown_text(keyword.text) +
                      " in the header, expected a keyword such as $var",
                  "a damaged file must be recorded again");
  }
  if (keyword.text == "$comment") return skip_comment(keyword);
  if (auto done = read_until_end(keyword); !done || short_) return done;
  if (keyword.text == "$timescale") return timescale(keyword);
  if (keyword.text == "$scope") return scope(keyword);
  if (keyword.text == "$var") return var(keyword);
  if (keyword.text == "$upscope") {
    upscope();
  } else if (!is_vcd_header_keyword(keyword.text)) {
    ++header_.unusual_syntax;  // such as $attrbegin: skipped
  }
  return {};
}

Result<void> HeaderReader::skip_comment(const Token& keyword) {
  const std::size_t begin = at_;
  Token token = next();
  while (!token.text.empty() && token.text != "$end") token = next();
  if (short_) return {};
  if (token.text.empty()) return unfinished(keyword);
  auto rate = stated_sample_rate(bytes_.substr(begin, token.byte - begin));
  if (!rate) {
    rate.error().byte = static_cast<std::int64_t>(keyword.byte);
    header_.sample_rate_hz = tl::unexpected(rate.error());
  } else if (*rate) {
    auto& known = header_.sample_rate_hz;
    if (known && *known && **known != **rate) {
      known = Result<Rational>(
          refuse(keyword.byte,
                 "found a comment with sample rate " + (*rate)->to_string() +
                     " Hz after one with " + (*known)->to_string() + " Hz",
                 "say which is right with --sample-rate"));
    } else if (!known) {
      known = **rate;
      header_.sample_rate_byte = keyword.byte;
    }
  }
  return {};
}

// Gathers the words up to $end.
Result<void> HeaderReader::read_until_end(const Token& keyword) {
  words_.clear();
  while (true) {
    const Token token = next();
    if (short_ || token.text == "$end") return {};
    if (token.text.empty()) return unfinished(keyword);
    if (is_vcd_header_keyword(token.text)) {
      return refuse(token.byte,
                    "found " + shown_text(token.text) + " inside " +
                        shown_text(keyword.text) + ", expected $end",
                    "an $end is missing");
    }
    words_.push_back(token.text);
  }
}

Result<void> HeaderReader::timescale(const Token& keyword) {
  std::string text;
  for (const std::string_view word : words_) text += word;
  auto scale = parse_vcd_timescale(text);
  if (!scale) {
    scale.error().byte = static_cast<std::int64_t>(keyword.byte);
    return tl::unexpected(std::move(scale.error()));
  }
  if (header_.tick_s) {
    if (*header_.tick_s != scale->tick_s) {
      return refuse(keyword.byte,
                    "found a second timescale, " + shown_text(text) +
                        ", other than the first",
                    "leave only the right one");
    }
    ++header_.unusual_syntax;
    return {};
  }
  header_.tick_s = scale->tick_s;
  header_.timescale_byte = keyword.byte;
  header_.timescale = text;
  if (scale->odd) {
    header_.warnings.push_back({WarningCode::kTimescaleOdd,
                                "found timescale " + shown_text(text) +
                                    ", which is not 1, 10 or 100 of a unit; "
                                    "read exactly as it stands"});
  }
  return {};
}

Result<void> HeaderReader::scope(const Token& keyword) {
  if (words_.empty()) {
    return refuse(keyword.byte, "found a $scope without kind and name",
                  "write $scope module NAME $end");
  }
  path_sizes_.push_back(path_.size());
  const std::string name = joined_words(std::span(words_).subspan(1));
  if (name.empty()) {
    ++header_.unusual_syntax;
  } else {
    path_ += name + ".";
  }
  return {};
}

void HeaderReader::upscope() {
  if (path_sizes_.empty()) {
    ++header_.unusual_syntax;
    return;
  }
  path_.resize(path_sizes_.back());
  path_sizes_.pop_back();
}

Result<void> HeaderReader::var(const Token& keyword) {
  auto declared = read_vcd_variable(words_, path_);
  if (!declared) {
    return refuse(keyword.byte,
                  "found " +
                      shown_text("$var " + joined_words(words_) + " $end") +
                      ", expected type, width, identifier and name",
                  "write for example $var wire 1 ! clk $end");
  }
  if (declared->nameless) ++header_.unusual_syntax;
  VcdVar& var = declared->var;
  name_bytes_ += var.name.size();
  if (name_bytes_ > kMostNameBytes) {
    return refuse(keyword.byte,
                  "found names of more than " + std::to_string(kMostNameBytes) +
                      " bytes in all, scopes included",
                  "dump fewer signals");
  }
  var.byte = keyword.byte;
  var.id = header_.ids.add(declared->id);
  if (auto noted = note_width(var.id, *declared, keyword); !noted) {
    return noted;
  }
  header_.vars.push_back(std::move(var));
  return {};
}

// One identifier is one net: one bit here and a bus there cannot both be true.
Result<void> HeaderReader::note_width(std::size_t id,
                                      const VcdDeclaration& declared,
                                      const Token& keyword) {
  if (id == widths_.size()) {
    widths_.push_back(declared.width);
    width_conflict_.push_back(false);
  }
  const std::int64_t first = widths_[id];
  if (first == declared.width) return {};
  width_conflict_[id] = true;
  if (first == 1 || declared.width == 1) {
    return refuse(keyword.byte,
                  "found identifier " + shown_text(declared.id) +
                      " with width " + std::to_string(declared.width) +
                      ", earlier with width " + std::to_string(first),
                  "a damaged file must be recorded again");
  }
  return {};
}

// Two buses that share an identifier but not the width may stay, unread.
VcdHeader HeaderReader::take() {
  for (VcdVar& var : header_.vars) {
    if (!var.bits || !width_conflict_[var.id]) continue;
    var.unusable = "a bus whose identifier has two widths";
    if (var.range_declared) var.name += var.bits->text();
    var.bits.reset();
  }
  return std::move(header_);
}

}  // namespace

Result<VcdHeader> parse_vcd_declarations(std::string_view prefix, bool whole,
                                         bool& needs_more) {
  HeaderReader reader(prefix, whole);
  const auto done = reader.run();
  needs_more = reader.needs_more();
  if (!done) return tl::unexpected(done.error());
  return reader.take();
}

}  // namespace clockassay
