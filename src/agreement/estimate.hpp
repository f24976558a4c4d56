#pragma once

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstddef>
#include <string_view>

namespace evenhand::agreement {

/// Why a statistic has no value, in words. Only a string literal makes one, so a result may be
/// copied by the thousand without owning text.
class Reason {
 public:
  template <std::size_t N>
  consteval Reason(const char (&text)[N]) : text_(text) {}  // NOLINT(google-explicit-constructor)

  std::string_view text() const { return text_; }

 private:
  friend class Value;
  const char* text_;
};

/// A finite number, or the reason why there is none. Undefined is an answer like any other.
class Value {
 public:
  Value() = default;
  Value(double number) : number_(number), why_(nullptr) {}  // NOLINT(google-explicit-constructor)
  Value(Reason reason) : why_(reason.text_) {}              // NOLINT(google-explicit-constructor)

  bool defined() const { return why_ == nullptr; }
  explicit operator bool() const { return defined(); }
  double operator*() const {
    assert(defined());
    return number_;
  }
  /// Empty when there is a number.
  std::string_view why() const { return why_ ? std::string_view(why_) : std::string_view(); }

  friend bool operator==(const Value& a, const Value& b) {
    return a.why() == b.why() && (!a.defined() || a.number_ == b.number_);
  }

 private:
  double number_ = 0.0;
  const char* why_ = "not asked for";
};

/// Whether two limits are one number, but for rounding.
inline bool fall_together(double lower, double upper) {
  return upper - lower <= 1e-12 * std::max(1.0, std::abs(lower));
}

/// An estimate with two-sided limits. A limit may be undefined where the estimate is not, and
/// carries its own reason. Nothing is clipped.
struct Estimate {
  Value estimate;
  Value lower;
  Value upper;
  std::string_view method;     ///< how the limits were made; a string literal
  bool outside_range = false;  ///< a limit lies where the statistic itself cannot

  /// Both limits are the estimate: no spread was seen (every case agrees, say), and so they tell nothing of
  /// the error. They are as their formula has them; whoever prints them says so.
  bool without_width() const { return estimate && lower && upper && fall_together(*lower, *upper); }

  /// The same reason for the estimate and both limits.
  static Estimate undefined(Reason reason) { return {reason, reason, reason, {}, false}; }

  friend bool operator==(const Estimate&, const Estimate&) = default;
};

/// The kinds of scale; they pick the weights and which statistics make sense.
enum class Level { nominal, ordinal, interval };

/// What stands where a statistic was left out by choice.
inline constexpr Reason not_asked{"not asked for"};

}  // namespace evenhand::agreement
