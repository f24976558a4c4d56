#include "instrument/fingerprint.hpp"

#include <iterator>
#include <string_view>
#include <variant>

#include <fmt/format.h>

#include "base/fingerprint.hpp"

namespace evenhand::instrument {
namespace {

/// Texts are written with their length, so that no text can pass for two others.
class Writer {
 public:
  explicit Writer(const Instrument& instrument) : instrument_(instrument) {}

  std::string text() && { return std::move(text_); }

  void put(std::string_view word) { fmt::format_to(std::back_inserter(text_), "{}:{} ", word.size(), word); }
  void put(double number) { fmt::format_to(std::back_inserter(text_), "{} ", number); }
  void put_count(std::size_t number) { fmt::format_to(std::back_inserter(text_), "{} ", number); }
  void end() { text_.back() = '\n'; }

  template <class... Parts>
  void line(const Parts&... parts) {
    (put(parts), ...);
    end();
  }

  void observation(const Observation& o) {
    put("observation");
    put(o.id);
    put_count(static_cast<std::size_t>(o.kind));
    put(document::unit_symbol(o.unit));
    for (const double number : {o.resolution, o.from, o.to}) put(number);
    put_count(static_cast<std::size_t>(o.better));
    for (const auto& value : o.values) put(value.id);
    put("usual");
    for (const double usual : o.usual) put(usual);
    end();
  }

  void region(std::string_view what, const Region& region) {
    for (const auto& clause : region) {
      put(what);
      for (const auto& constraint : clause.constraints) {
        const Observation& o = instrument_.observations[constraint.observation];
        put(o.id);
        for (const auto& cut : {constraint.low, constraint.high}) {
          if (cut) put(cut->at);
          put(!cut ? "free" : cut->after ? "after" : "before");
        }
        for (const std::size_t value : constraint.values) put(o.values[value].id);
      }
      end();
    }
  }

  void ruling(const Ruling& r) {
    put("ruling");
    put(r.id);
    put(r.item);
    put_count(static_cast<std::size_t>(r.tier));
    put(r.level.value_or(""));
    for (const auto& change : r.as_if) {
      put(instrument_.observations[change.observation].id);
      put(change.value);
    }
    put_count(r.less);
    put(r.not_below.value_or(""));
    put(r.settled ? "settled" : "");
    end();
    region("when", r.when);
  }

  void trials(const TrialRule& rule) {
    put("trials");
    put_count(rule.practice);
    put_count(rule.count);
    put_count(static_cast<std::size_t>(rule.counts));
    put(rule.stop_at ? std::to_string(*rule.stop_at) : "");
    for (const auto& way : rule.ways) put(way);
    put_count(static_cast<std::size_t>(rule.ways_count));
    end();
    if (!rule.spoilt) return;
    put("spoilt");
    put_count(rule.spoilt->at_most);
    put_count(rule.spoilt->less);
    end();
    region("when", rule.spoilt->when);
  }

  void derivation(const Derivation& d) {
    put("derive");
    put(instrument_.observations[d.observation].id);
    const auto moments = [&](const Moments& list) {
      put_count(list.size());
      for (const auto& moment : list) put(moment);
    };
    const auto values = [&](const auto& list) {
      for (const auto& [moment, value] : list) {
        put(moment);
        put_count(value);
      }
    };
    if (const auto* span = std::get_if<Span>(&d.how)) {
      moments(span->from);
      moments(span->to);
    } else if (const auto* which = std::get_if<Which>(&d.how)) {
      values(which->values);
      put_count(which->of);
    } else if (const auto* seen = std::get_if<Seen>(&d.how)) {
      moments(seen->moments);
      for (const std::size_t part :
           {static_cast<std::size_t>(seen->where), seen->of, seen->value, seen->otherwise})
        put_count(part);
    } else if (const auto* count = std::get_if<Count>(&d.how)) {
      moments(count->moments);
      moments(count->until);
    } else if (const auto* pose = std::get_if<PoseAt>(&d.how)) {
      put(pose->moment);
      values(pose->values);
    } else if (const auto* reach = std::get_if<ReachAt>(&d.how)) {
      put(reach->moment);
    }
    end();
  }

  void item(const Item& item) {
    line("item", item.id);
    put("observe");
    for (const std::size_t place : item.observe) put(instrument_.observations[place].id);
    end();
    trials(item.trials);
    for (const auto& level : item.levels) {
      line("level", level.label);
      region("when", level.when);
    }
    if (item.measured) {
      put("measured");
      put(instrument_.observations[item.measured->observation].id);
      put_count(static_cast<std::size_t>(item.measured->better));
      end();
    }
    region("impossible", item.impossible);
    for (const auto& each : item.rulings) ruling(each);
    for (const auto& each : item.derive) derivation(each);
  }

 private:
  const Instrument& instrument_;
  std::string text_;
};

}  // namespace

std::string canonical_text(const Instrument& instrument, std::span<const RulingFile> departments) {
  Writer writer(instrument);
  writer.line("evenhand/scoring-1", instrument.id, static_cast<double>(instrument.version),
              instrument.high_is_better ? "higher" : "lower");
  for (const auto& band : {instrument.duration_error, instrument.length_error, instrument.angle_error})
    writer.line("error", band.below, band.above);
  if (instrument.total_maximum) writer.line("total", *instrument.total_maximum);
  for (const auto& each : instrument.observations) writer.observation(each);
  for (const auto& each : instrument.general) writer.ruling(each);
  writer.line("fallback", instrument.fallback.open == OpenRule::floor ? "floor" : "unruled",
              instrument.fallback.several == SeveralRule::lowest ? "lowest" : "unruled");
  for (const auto& skip : instrument.skips) {
    writer.put("skip");
    for (const std::size_t part : {skip.item, skip.fills, skip.with}) writer.put_count(part);
    for (const std::size_t level : skip.levels) writer.put_count(level);
    writer.end();
  }
  for (const auto& each : instrument.items) writer.item(each);
  for (const auto& file : departments) {
    writer.line("rulings", file.id);
    for (const auto& each : file.rulings) writer.ruling(each);
  }
  return std::move(writer).text();
}

std::string fingerprint(const Instrument& instrument, std::span<const RulingFile> departments) {
  return base::fingerprint(canonical_text(instrument, departments));
}

}  // namespace evenhand::instrument
