// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

namespace clockassay {

enum class LineEnds { kAnywhere, kNotInFigures };

/// A text as a page or a picture has it: a minus before a figure, degrees, and
/// no line end in a figure or before its unit, unless there is little room.
/// What is typed, such as "--range -40..85", stays as it is.
std::string page_words(std::string_view text,
                       LineEnds ends = LineEnds::kNotInFigures);

/// The same of lines that blanks align: no place moves.
std::string page_lines(std::string_view text);

/// A figure alone: "-20" gets its minus; all else stays.
std::string with_minus(std::string figure);

}  // namespace clockassay
