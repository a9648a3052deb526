// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/text_layout.h"

#include <algorithm>
#include <cstring>
#include <iterator>
#include <utility>

#include "clockassay/base/utf8.h"
#include "report/display_width.h"

namespace clockassay {
namespace {

// A blank that is no line break until the line is written. printable() leaves
// no such byte in anything from outside.
constexpr char kGlue = '\x1f';

constexpr std::size_t kLabelIndent = 2;   // columns
constexpr std::size_t kLabelColumn = 16;  // where the text beside it begins
constexpr std::size_t kItemIndent = 4;

// How many bytes of `word` fit into that many columns; at least one character.
std::size_t bytes_that_fit(std::string_view word, std::size_t columns) {
  std::size_t bytes = 0;
  while (bytes < word.size()) {
    const std::size_t next = first_code_point(word.substr(bytes)).bytes;
    const std::size_t width = display_width(word.substr(0, bytes + next));
    if (bytes > 0 && width > columns) break;
    bytes += next;
  }
  return bytes;
}

// One line in the making.
class Wrapper {
 public:
  explicit Wrapper(std::size_t hang) : hang_(hang) {}

  void add(std::string_view blanks, std::string_view word) {
    const std::size_t width = display_width(word);
    const bool fits = column_ + blanks.size() + width <= kTextWidth;
    if (!fits && !fresh_) {
      break_line();
    } else {
      put(blanks);
    }
    while (column_ + display_width(word) > kTextWidth) {
      const std::size_t bytes = bytes_that_fit(word, kTextWidth - column_);
      put(word.substr(0, bytes));
      word.remove_prefix(bytes);
      break_line();
    }
    if (!word.empty()) {
      put(word);
      fresh_ = false;
    }
  }

  std::string finish() { return lines_ + line_ + '\n'; }

 private:
  void put(std::string_view text) {
    line_ += text;
    column_ += display_width(text);
  }

  void break_line() {
    while (line_.ends_with(' ')) line_.pop_back();
    lines_ += line_ + '\n';
    line_ = std::string(hang_, ' ');
    column_ = hang_;
    fresh_ = true;
  }

  std::size_t hang_;
  std::string lines_;
  std::string line_;
  std::size_t column_ = 0;
  bool fresh_ = true;  // nothing but blanks on the line yet
};

bool is_unit(std::string_view word) {
  // Of what follows it in a sentence, nothing belongs to it.
  while (!word.empty() && std::strchr(".,;:)", word.back()) != nullptr) {
    word.remove_suffix(1);
  }
  constexpr std::string_view kUnits[] = {
      "%",  "ppm", "ppb", "Hz", "kHz",  "MHz", "GHz", "s",  "ms",
      "µs", "ns",  "ps",  "fs", "degC", "K",   "pF",  "fF", "MS/s"};
  return std::find(std::begin(kUnits), std::end(kUnits), word) !=
         std::end(kUnits);
}

/// A number and its unit stay on one line: their blank is none to break at.
std::string with_units(std::string_view text) {
  std::string glued(text);
  for (std::size_t at = 1; at + 1 < glued.size(); ++at) {
    if (glued[at] != ' ' || glued[at - 1] < '0' || glued[at - 1] > '9') {
      continue;
    }
    const std::size_t end =
        glued.find_first_of(std::string{' ', kGlue}, at + 1);
    if (is_unit(std::string_view(glued).substr(at + 1, end - at - 1))) {
      glued[at] = kGlue;
    }
  }
  return glued;
}

std::string wrapped(std::string_view words, std::size_t hang) {
  const std::string glued = with_units(words);
  std::string_view text = glued;
  Wrapper wrapper(hang);
  while (!text.empty()) {
    const std::size_t word = std::min(text.find_first_not_of(' '), text.size());
    const std::size_t end = std::min(text.find(' ', word), text.size());
    if (word < end) {
      wrapper.add(text.substr(0, word), text.substr(word, end - word));
    }
    text.remove_prefix(end);
  }
  return with_blanks(wrapper.finish());
}

std::string padded(std::size_t indent, std::string_view label,
                   std::size_t column) {
  std::string out = std::string(indent, ' ') + std::string(label);
  const std::size_t width = indent + display_width(label);
  out.append(width < column ? column - width : 1, ' ');
  return out;
}

}  // namespace

std::string unbroken(std::string text) {
  std::replace(text.begin(), text.end(), ' ', kGlue);
  return text;
}

std::string with_blanks(std::string text) {
  std::replace(text.begin(), text.end(), kGlue, ' ');
  return text;
}

std::string side_by_side(const std::vector<std::string>& parts) {
  std::string out;
  for (const std::string& part : parts) {
    if (!out.empty()) out += "  ";
    out += unbroken(part);
  }
  return out;
}

void TextLayout::keep(TextBlock::Kind kind, std::string_view label,
                      std::string_view text) {
  blocks_.push_back({kind, std::string(label), with_blanks(std::string(text))});
}

void TextLayout::keep_headline(std::string_view decision,
                               const std::vector<std::string>& parts) {
  TextBlock block{TextBlock::Kind::kHeadline, std::string(decision), "", parts};
  for (std::string& part : block.parts) part = with_blanks(part);
  blocks_.push_back(std::move(block));
}

void TextLayout::headline(const std::vector<std::string>& parts) {
  keep_headline("", parts);
  text_ += wrapped(side_by_side(parts), 2);
}

void TextLayout::headline(std::string_view lines, std::string_view decision,
                          const std::vector<std::string>& parts) {
  keep_headline(decision, parts);
  text_ += lines;
}

void TextLayout::append(std::string_view lines) {
  keep(TextBlock::Kind::kLines, "", lines);
  text_ += lines;
}

void TextLayout::paragraph(std::string_view text, std::size_t hang) {
  keep(TextBlock::Kind::kParagraph, "", text);
  text_ += wrapped(text, hang);
}

void TextLayout::labelled(std::string_view label, std::string_view text) {
  keep(TextBlock::Kind::kLabelled, label, text);
  text_ +=
      wrapped(padded(kLabelIndent, label, kLabelColumn) + std::string(text),
              kLabelColumn);
}

void TextLayout::item(std::string_view mark, std::string_view text) {
  keep(TextBlock::Kind::kItem, mark, text);
  const std::size_t hang = kItemIndent + display_width(mark) + 1;
  text_ += wrapped(padded(kItemIndent, mark, hang) + std::string(text), hang);
}

void TextLayout::blank_line() {
  text_ += '\n';
}

}  // namespace clockassay
