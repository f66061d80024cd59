// Ring topics in the daemon's turn: who needs ringing, beats, confirmations.
#include "app/daemon.h"
#include "app/log.h"

namespace clutchward {

void Daemon::take_ring_reports(Moment now) {
  if (!rings_.any()) return;
  for (const DeliveryReport& report : rings_.take_reports(linked_, now.steady))
    note_report(report, now);
}

void Daemon::ring(Moment now) {
  if (rings_.any() && (announcer_->version() != rings_seen_ || rings_.beat_due(now.steady))) {
    rings_seen_ = announcer_->version();
    rings_.show(announcer_->calls(*engine_, now));
  }
  for (const RingBoard::Publish& each : rings_.take_due(now))
    mqtt_->publish_picture(each.topic, each.payload);
}

}  // namespace clutchward
