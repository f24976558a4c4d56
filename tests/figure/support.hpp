#pragma once

#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "cases/library.hpp"
#include "figure/poses.hpp"
#include "figure/state.hpp"

namespace evenhand::test {

/// How the figure of the shipped library moves; read once.
const figure::Poses& poses();

/// A trial that can be played, and what it is called.
struct Played {
  std::string name;
  std::string item;
  std::vector<cases::Moment> timeline;
  double end() const { return timeline.back().at + 2.5; }
};

/// All timed trials of the library.
std::vector<Played> library_trials();
/// The timelines of demonstrations.json: every word once at least, every item of the instrument.
std::vector<Played> demonstrations();

nlohmann::json to_json(const std::vector<cases::Moment>& timeline);
/// Where the joints are on the pictures of a state: body -> joint -> view -> [x, y].
nlohmann::json picture_json(const figure::State& state);

std::string read_file(const std::string& path);

}  // namespace evenhand::test
