// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace clockassay {

/// Widest line of a text report [columns].
inline constexpr std::size_t kTextWidth = 80;

/// Keeps the blanks of a number and its unit from becoming line breaks.
std::string unbroken(std::string text);

/// The same with blanks again, for who lays a text out otherwise.
std::string with_blanks(std::string text);

/// Joins the parts with two blanks, none of them broken inside.
std::string side_by_side(const std::vector<std::string>& parts);

/// What a text is made of, for who lays it out otherwise.
struct TextBlock {
  enum class Kind { kParagraph, kLabelled, kItem, kLines, kHeadline };
  Kind kind = Kind::kParagraph;
  /// Of kLabelled, may be empty: more of the one before. Of kHeadline a
  /// decision, or empty.
  std::string label;
  std::string text;
  std::vector<std::string> parts = {};  ///< of kHeadline, in place of a text
};

/// A text of lines no wider than kTextWidth. Lines break at blanks; a word
/// longer than the line is cut.
class TextLayout {
 public:
  /// A paragraph; its second and later lines are indented by `hang`.
  void paragraph(std::string_view text, std::size_t hang = 0);
  /// A label in the left column, the text beside it.
  void labelled(std::string_view label, std::string_view text);
  /// An entry of a list under a label: mark, then the text.
  void item(std::string_view mark, std::string_view text);
  void blank_line();
  /// What something is about, in parts side by side.
  void headline(const std::vector<std::string>& parts);
  /// The same of a decision. In: lines  as they are printed
  void headline(std::string_view lines, std::string_view decision,
                const std::vector<std::string>& parts);
  /// Lines made elsewhere.
  void append(std::string_view lines);
  const std::string& text() const { return text_; }
  /// The same in parts, blank lines left out.
  const std::vector<TextBlock>& blocks() const { return blocks_; }

 private:
  void keep(TextBlock::Kind kind, std::string_view label,
            std::string_view text);

  void keep_headline(std::string_view decision,
                     const std::vector<std::string>& parts);

  std::string text_;
  std::vector<TextBlock> blocks_;
};

}  // namespace clockassay
