#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <span>
#include <type_traits>
#include <utility>
#include <vector>

namespace evenhand::scores {

/// Stands for "nothing" where a column keeps an index.
inline constexpr std::uint32_t nothing = std::numeric_limits<std::uint32_t>::max();

/// A column of small numbers in as few bytes each (1, 2 or 4) as the largest needs: a table of
/// millions of scores names a few thousand things. In 1 or 2 bytes all ones stand for `nothing`.
class Codes {
 public:
  std::size_t size() const { return width_ == 1 ? one_.size() : width_ == 2 ? two_.size() : four_.size(); }
  bool empty() const { return size() == 0; }

  std::uint32_t operator[](std::size_t i) const {
    if (width_ == 1) return one_[i] == 0xFFU ? nothing : one_[i];
    if (width_ == 2) return two_[i] == 0xFFFFU ? nothing : two_[i];
    return four_[i];
  }

  /// The codes from `begin` on, as many as there is room for: what [] says of each, but decoded at once.
  void read(std::size_t begin, std::span<std::uint32_t> out) const {
    const auto widen = [&](const auto& column) {
      using T = typename std::decay_t<decltype(column)>::value_type;
      for (std::size_t i = 0; i < out.size(); ++i) {
        const T code = column[begin + i];
        out[i] = code == std::numeric_limits<T>::max() ? nothing : std::uint32_t{code};
      }
    };
    if (width_ == 1)
      widen(one_);
    else if (width_ == 2)
      widen(two_);
    else
      widen(four_);
  }

  void push_back(std::uint32_t code) {
    widen_for(code);
    if (width_ == 1)
      one_.push_back(static_cast<std::uint8_t>(code));
    else if (width_ == 2)
      two_.push_back(static_cast<std::uint16_t>(code));
    else
      four_.push_back(code);
  }

  void append(std::span<const std::uint32_t> codes) {
    std::uint32_t most = 0;
    for (const std::uint32_t code : codes) most = std::max(most, code == nothing ? 0U : code);
    widen_for(most);
    const auto narrow = [&](auto& column) {
      using T = typename std::decay_t<decltype(column)>::value_type;
      const std::size_t before = column.size();
      column.resize(before + codes.size());
      for (std::size_t i = 0; i < codes.size(); ++i) column[before + i] = static_cast<T>(codes[i]);
    };
    if (width_ == 1)
      narrow(one_);
    else if (width_ == 2)
      narrow(two_);
    else
      narrow(four_);
  }

  void assign(std::size_t n, std::uint32_t code) {
    *this = Codes();
    widen_for(code);
    if (width_ == 1)
      one_.assign(n, static_cast<std::uint8_t>(code));
    else if (width_ == 2)
      two_.assign(n, static_cast<std::uint16_t>(code));
    else
      four_.assign(n, code);
  }

  void reserve(std::size_t n) {
    if (width_ == 1) one_.reserve(n);
    if (width_ == 2) two_.reserve(n);
    if (width_ == 4) four_.reserve(n);
  }

  /// The codes of another column, each but `nothing` giving way to now[code].
  void append(const Codes& other, std::span<const std::uint32_t> now) {
    const auto renumber = [&](const auto& column) {
      using T = typename std::decay_t<decltype(column)>::value_type;
      std::vector<std::uint32_t> block;
      for (std::size_t begin = 0; begin < column.size(); begin += block.size()) {
        block.resize(std::min<std::size_t>(column.size() - begin, 4096));
        for (std::size_t i = 0; i < block.size(); ++i) {
          const T code = column[begin + i];
          block[i] = code == std::numeric_limits<T>::max() ? nothing : now[code];
        }
        append(block);
      }
    };
    if (other.width_ == 1) renumber(other.one_);
    if (other.width_ == 2) renumber(other.two_);
    if (other.width_ == 4) renumber(other.four_);
  }

  friend bool operator==(const Codes& a, const Codes& b) {
    if (a.size() != b.size()) return false;
    for (std::size_t i = 0; i < a.size(); ++i)
      if (a[i] != b[i]) return false;
    return true;
  }

 private:
  void widen_for(std::uint32_t code) {
    if (code == nothing) return;
    if (width_ == 1 && code >= 0xFFU) {
      two_.reserve(one_.capacity());
      for (const std::uint8_t each : one_)
        two_.push_back(each == 0xFFU ? std::uint16_t{0xFFFF} : std::uint16_t{each});
      one_ = {};
      width_ = 2;
    }
    if (width_ == 2 && code >= 0xFFFFU) {
      four_.reserve(two_.capacity());
      for (const std::uint16_t each : two_) four_.push_back(each == 0xFFFFU ? nothing : std::uint32_t{each});
      two_ = {};
      width_ = 4;
    }
  }

  unsigned width_ = 1;
  std::vector<std::uint8_t> one_;
  std::vector<std::uint16_t> two_;
  std::vector<std::uint32_t> four_;
};

/// Where each row was read: lines mostly follow each other, so only where they do not is kept.
class Lines {
 public:
  bool empty() const { return rows_ == 0; }

  void push_back(std::uint32_t line) { append(1, line); }

  /// Rows on that line and those that follow it, a line a row.
  void append(std::size_t rows, std::uint32_t line) {
    if (rows == 0) return;
    if (runs_.empty() || runs_.back().line + (rows_ - runs_.back().row) != line)
      runs_.push_back({rows_, line});
    rows_ += static_cast<std::uint32_t>(rows);
  }

  std::uint32_t operator[](std::size_t row) const {
    const auto after = std::upper_bound(runs_.begin(), runs_.end(), row,
                                        [](std::size_t at, const Run& run) { return at < run.row; });
    const Run& run = *(after - 1);
    return run.line + (static_cast<std::uint32_t>(row) - run.row);
  }

 private:
  struct Run {
    std::uint32_t row, line;  ///< the first row of the run and its line
  };
  std::uint32_t rows_ = 0;
  std::vector<Run> runs_;
};

}  // namespace evenhand::scores
