"""What a project is: boards, joints, bores, screws and the rules they obey. No CAD kernel here."""
