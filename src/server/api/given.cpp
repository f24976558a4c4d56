#include "server/api/given.hpp"

namespace evenhand::server {

practice::Given given_of(const store::Answer& stored) {
  practice::Given given{stored.trial, stored.status, stored.value, stored.observations, {}, stored.sureness};
  for (const auto& reading : stored.stopwatch)
    given.stopwatch.push_back({.trial = reading.trial,
                               .seconds = reading.seconds,
                               .described = reading.form == store::Form::described,
                               .sound = reading.sound,
                               .start = reading.start});
  return given;
}

}  // namespace evenhand::server
